// Hazards on a card: the whole panel until it was read once in this job, then a bar of one line
// that opens to the whole text, for as long as the hazard is there.
const Hazards = (() => {
  const { make, home, clone, button } = Page;
  const panelOf = ({ name }) => clone(home().querySelector(`[data-hazard="${name}"]`));

  function bar(hazard) {
    const panel = panelOf(hazard);
    const title = make('span', { class: 'hazard-line', dir: 'auto' }, ...panel.querySelector('.hazard-title').cloneNode(true).childNodes);
    return make('details', { class: `hazard ${hazard.signal} bar-only`, 'data-hazard': hazard.name },
      make('summary', {}, make('span', { class: 'signal' }, panel.querySelector('.signal').textContent), title),
      panel.querySelector('.warned'));
  }

  // What a card holds below its heading: bars, or first what is new to be read. Until it is read
  // there is nothing else to be done on the card.
  function before(list, job, act, question, ...rest) {
    const fresh = list.filter(({ name }) => !job.read.includes(name));
    const bars = list.filter((one) => !fresh.includes(one)).map(bar);
    const shown = bars.length ? make('div', { class: 'hazards bars' }, bars) : null;
    if (!fresh.length) return [shown, question, ...rest];
    return [
      shown,
      make('div', { class: 'hazards' }, fresh.map(panelOf)),
      question,
      button(t('hazard.read'), () => act.read(fresh.map(({ name }) => name)), { accent: true, digit: '1', className: 'read' }),
    ];
  }

  // On paper every bar is open.
  window.addEventListener('beforeprint', () =>
    document.querySelectorAll('#walk .bar-only').forEach((one) => { one.open = true; }));

  return { before };
})();
