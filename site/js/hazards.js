// Hazards: on the card the whole panel until it was read once in this job; then a line in a bar
// above it that stays in sight, and opens to the whole text, for as long as the hazard is there.
const Hazards = (() => {
  const { make, home, clone, button } = Page;
  const panelOf = ({ name }) => clone(home().querySelector(`[data-hazard="${name}"]`));
  const isRead = (job) => ({ name }) => job.read.includes(name);

  // What is new to be read. Until it is read there is nothing else to be done on the card.
  function before(list, job, act, question, ...rest) {
    const fresh = list.filter((one) => !isRead(job)(one));
    if (!fresh.length) return [question, ...rest];
    return [
      make('div', { class: 'hazards' }, fresh.map(panelOf)),
      question,
      button(t('hazard.read'), () => act.read(fresh.map(({ name }) => name)), { accent: true, digit: '1', className: 'read' }),
    ];
  }

  // What was read and is there: a line each.
  function bar(all, job) {
    const list = all.filter(isRead(job));
    if (!list.length) return null;
    const panels = list.map(panelOf);
    const lines = panels.map((panel, at) => make('span', { class: `hazard ${list[at].signal}`, 'data-hazard': list[at].name },
      make('span', { class: 'signal', lang: Words.language() }, panel.querySelector('.signal').textContent),
      make('span', { class: 'hazard-line', dir: 'auto' }, ...panel.querySelector('.hazard-title').cloneNode(true).childNodes)));
    return make('details', { class: 'hazard-bar' }, make('summary', {}, make('span', { class: 'lines' }, lines)),
      make('div', { class: 'hazards', tabindex: '0' }, panels));
  }

  // The bar stays in sight, unless that takes more than a third of the screen. What gets the
  // focus is not moved beneath it.
  function settle() {
    const shown = document.querySelector('#walk .hazard-bar');
    const high = shown?.querySelector('summary').offsetHeight ?? 0;
    const stays = high > 0 && high * 3 <= window.innerHeight;
    shown?.classList.toggle('stays', stays);
    document.documentElement.style.scrollPaddingTop = stays ? `${high + 8}px` : '';
  }
  window.addEventListener('resize', settle);

  // On paper it is open, and after that as it was.
  let opened = [];
  window.addEventListener('beforeprint', () => {
    opened = [...document.querySelectorAll('#walk .hazard-bar:not([open])')];
    for (const one of opened) one.open = true;
  });
  window.addEventListener('afterprint', () => opened.forEach((one) => { one.open = false; }));

  // For what is laid over the screen.
  const copy = () => document.querySelector('#walk .hazard-bar')?.cloneNode(true) ?? null;

  return { before, bar, settle, copy };
})();
