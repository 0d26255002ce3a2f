// What is still possible: a panel beside every step, and the screen on which a job ends that could
// not be decided.
const Open = (() => {
  const { make, button, find } = Page;
  const title = (node) => (find(`step-${node.name}`, '.title')?.textContent ?? '').trim();
  const numbers = (nodes) => nodes.map(({ number }) => number).join(', ');
  const skipped = (tree, view) => [...view.open?.skipped ?? []].map((name) => tree.nodes.get(name));

  function shareOf(percent) {
    if (!percent) return t('share.none');
    return percent.some && !percent.whole ? t('share.least') : t('share', { count: percent.whole });
  }

  const row = (node, detail) => make('li', {}, make('span', { class: 'number' }, node.number),
    make('span', { class: 'words', dir: 'auto' }, title(node), make('span', { class: 'detail' }, detail)));

  const takeUp = (node, act) =>
    button([t('open.take', { number: node.number }), make('span', { class: 'detail', dir: 'auto' }, title(node))], () => act.turn(node.name));

  // The first of a long list; the others are there when they are asked for.
  const FIRST = 3;
  const folded = (all) => [all.slice(0, FIRST), all.length > FIRST
    ? make('details', { class: 'more' }, make('summary', {}, t('decide.more', { count: all.length - FIRST })), all.slice(FIRST))
    : null];

  const note = (percents) => ([...percents.values()].some(Boolean) ? make('p', { class: 'detail' }, t('share.note')) : null);

  // Known good and still suspect, from the answers so far.
  function panel(tree, job, view, shown, toggle) {
    const { open, out } = Suspects.weigh(tree, job, view);
    if (!open.length && !out.size) return null;
    const lists = make('div', {});
    const details = make('details', { class: 'suspects', toggle: () => {
      toggle(details.open);
      fill();
    } }, make('summary', {}, t('suspect.summary', { count: open.length, all: open.length + out.size })), lists);
    // Made when it is looked at: a large tree has many faults.
    function fill() {
      if (!details.open || lists.firstChild) return;
      const percents = Suspects.percents(open);
      lists.append(...[
        make('h3', {}, t('suspect.open')),
        make('ul', { class: 'faults' }, open.map((fault) => row(fault, open.length > 1 ? shareOf(percents.get(fault)) : ''))),
        open.length > 1 ? note(percents) : null,
        out.size ? make('h3', {}, t('suspect.out')) : null,
        make('ul', { class: 'faults out' }, [...out].map(([fault, by]) =>
          row(fault, by ? t('suspect.by', { number: by.number }) : t('suspect.mended')))),
      ].filter(Boolean));
    }
    details.open = shown;
    fill();
    return details;
  }

  // One line that says what was left out, while its outcomes are open.
  function reminder(tree, view) {
    const left = skipped(tree, view);
    return left.length && view.frame.kind !== 'open'
      ? make('p', { class: 'reason open-now' }, t('open.now', { numbers: numbers(left) }))
      : null;
  }

  function parts(tree, job, view, act) {
    const { faults, against } = Suspects.possible(tree, job, view);
    const percents = Suspects.percents(faults);
    const how = (fault) => (faults.length > 1 ? shareOf(percents.get(fault)) : '');
    const ends = view.places.filter(({ state }) => state === 'end').map(({ node }) => node);
    // The checks that tell most of them apart first.
    const deciding = Suspects.deciding(tree, job, faults);
    const out = skipped(tree, view);
    const left = [...deciding.filter((node) => out.includes(node)), ...out.filter((node) => !deciding.includes(node))];
    const others = deciding.filter((node) => !out.includes(node) && !view.facts.known.has(node.name)).slice(0, 4);
    const key = against ? 'open.against' : !faults.length ? 'open.none' : faults.length === 1 ? 'open.one' : 'open.some';
    const list = (heading, nodes) => (nodes.length
      ? make('section', { class: 'decide' }, make('h3', {}, t(heading)), folded(nodes.map((node) => takeUp(node, act))))
      : null);
    const choose = (node, text, detail) => button(text, () => act.take({ choose: node.name }), { detail });
    return [
      make('p', { class: 'question' }, t(key)),
      faults.some((fault) => ends.includes(fault)) ? make('p', {}, t('open.treat')) : null,
      make('div', { class: 'answers possible' }, faults.map((fault) => (ends.includes(fault)
        ? choose(fault, `${fault.number} ${title(fault)}`, how(fault))
        : make('ul', { class: 'faults' }, row(fault, how(fault)))))),
      faults.length > 1 ? note(percents) : null,
      list('decide.skipped', left),
      list('decide.other', faults.length > 1 ? others : []),
      make('div', { class: 'answers' },
        ends.filter(({ kind }) => kind !== 'fault').map((node) =>
          choose(node, t('open.goto', { number: node.number, title: title(node) }), '')),
        button(t('open.close'), () => act.take({}))),
    ];
  }

  return { panel, reminder, parts };
})();
