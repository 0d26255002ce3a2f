// What the screen shows for each kind of frame. Every function gives an element; nothing here
// changes the job except through the `act` functions it is handed.
const Screens = (() => {
  const { make, inside, phrases, copy, button } = Page;
  const { words } = Record;

  function card(kind, number, heading, ...children) {
    return make('section', { class: `card ${kind}` },
      make('h2', { tabindex: '-1' }, number ? make('span', { class: 'number' }, number) : null, ' ', make('span', { class: 'kind' }, heading)),
      ...children);
  }

  const question = (anchor) => make('p', { class: 'question', dir: 'auto' }, inside(anchor, '.title'));
  const how = (anchor) => {
    const nodes = inside(anchor, '.how');
    return nodes.length ? make('div', { class: 'how', dir: 'auto' }, nodes) : null;
  };
  const extras = (anchor) => [copy(anchor, 'figure'), copy(anchor, '.facts')];

  // What is or may become set while a frame is dealt with: its hazards count already.
  const heldIn = (frame, held) =>
    frame.purpose === 'set-up' ? [...held, frame.condition] : frame.node?.kind === 'step' ? [...held, ...frame.node.sets] : held;

  function hazards(tree, view, job) {
    const { frame } = view;
    const one = frame.node ?? tree.procedures.get(frame.procedure) ?? null;
    return tree.hazardsOf(one, heldIn(frame, frame.held ?? view.held), job.model);
  }

  // A card, its hazards first.
  function guarded(kind, number, heading, { tree, view, job, act }, top, question, ...rest) {
    return card(kind, number, heading, top, Hazards.before(hazards(tree, view, job), job, act, question, ...rest));
  }

  // A check, or the set-up for it, that cannot be done now.
  const cannot = (node, act) =>
    button(t('cannot'), () => act.take({ key: `node/${node.name}`, skip: true }), { detail: t('cannot.detail'), className: 'cannot' });
  const leave = (entry, act) =>
    button(t('undone'), () => act.take({ ...entry, undone: true }), { detail: t('undone.detail'), className: 'cannot' });

  // What may be left out here.
  function leftOut(view, frame, act) {
    const node = frame.node ?? frame.before?.node;
    if (node?.outcomes.length) return cannot(node, act);
    if (!view.open) return null;
    if (node?.kind === 'step') return leave({ key: `node/${node.name}` }, act);
    return frame.purpose === 'do' ? leave({}, act) : null;
  }

  function procedure(tree, view, frame, job, act) {
    const it = tree.procedures.get(frame.procedure) ?? null;
    const anchor = it ? `procedure-${it.name}` : null;
    const condition = tree.conditions.get(frame.condition);
    const atEnd = frame.purpose === 'undo' && !frame.due;
    const handedOver = atEnd && ['handoff', 'left', 'open', 'lost', 'untested'].includes(view.end.kind);
    const reason = atEnd
      ? t(handedOver ? 'condition.still-over' : 'condition.still', { title: condition.title })
      : frame.due
        ? t('before', { number: frame.due.number, title: words(`step-${frame.due.name}`) })
        : null;
    const ticks = (job.draft?.key === frame.key && job.draft.ticks) || [];
    const items = it
      ? Array.from({ length: it.items }, (_, index) => {
        const box = make('input', { type: 'checkbox', change: () => {
          ticks[index] = box.checked;
          act.keep({ ticks });
          settle();
        } });
        box.checked = Boolean(ticks[index]);
        return make('li', {}, make('label', {}, box, make('span', { dir: 'auto' }, phrases(anchor, `.items > li:nth-child(${index + 1})`))));
      })
      : [];
    const done = t(items.length ? 'procedure.done' : 'condition.done');
    const on = button(done, () => act.take({}), { accent: true, digit: '1' });
    // Each line is ticked by itself: a lock is not confirmed in passing.
    function settle() {
      on.disabled = items.some((_, index) => !ticks[index]);
      on.querySelector('.words').textContent = on.disabled ? t('ticks.missing') : done;
    }
    settle();
    return guarded(`procedure ${frame.purpose}`, it?.number, t(`purpose.${frame.purpose}`), { tree, view, job, act },
      reason ? make('p', { class: 'reason', dir: 'auto' }, reason) : null,
      it ? question(anchor) : make('p', { class: 'question', dir: 'auto' }, t('condition.sure', { title: condition.title })),
      it ? how(anchor) : null,
      items.length ? make('ol', { class: 'items' }, items) : null,
      it ? extras(anchor) : null,
      on,
      leftOut(view, frame, act),
      handedOver ? button(t('condition.left'), () => act.take({ left: true }), { digit: '2' }) : null);
  }

  function node(tree, view, frame, job, act) {
    const it = frame.node;
    const anchor = `step-${it.name}`;
    const former = job.draft?.key === frame.key ? job.draft : job.taken?.entries[0]?.key === frame.key ? job.taken.entries[0] : null;
    const heading = t(`${frame.retest ? 'retest.' : ''}kind.${it.kind}`);
    return guarded(it.kind, it.number, heading, { tree, view, job, act }, null,
      question(anchor),
      it.kind === 'reading' ? Reading.limits(it, job.model) : null,
      it.kind === 'handoff' ? copy(anchor, '.to') : null,
      copy(anchor, '.remedy'),
      how(anchor),
      extras(anchor),
      ways(tree, view, frame, job, former, act),
      frame.amends ? button(t('amend.anew'), act.anew, { className: 'cannot' }) : null,
      leftOut(view, frame, act));
  }

  function ways(tree, view, frame, job, former, act) {
    const it = frame.node;
    switch (it.kind) {
      case 'check':
        return make('div', { class: 'answers', role: 'group', 'aria-label': t('answers') }, it.outcomes.map((outcome, index) =>
          button(inside(`step-${it.name}`, `.answers > li:nth-child(${index + 1}) .answer`), () => act.take({ answer: index }), {
            digit: index < 9 ? String(index + 1) : null,
            detail: former?.answer === index ? t('answer.before') : '',
          })));
      case 'reading':
        return Reading.form(job, it, former, act.take, (values) => act.keep({ values }));
      case 'step':
        return button(t('step.done'), () => act.take({}), { accent: true, digit: '1' });
      case 'fault': {
        const again = it.retest ? tree.nodes.get(it.retest) : view.passed.findLast((one) => one.node && 'answer' in one.entry)?.node;
        const text = again ? t('remedy.retest', { number: again.number }) : t('remedy.go-on');
        return [
          button(text, () => act.take({}), { accent: true, digit: '1' }),
          button(t('remedy.not'), () => act.take({ left: true }), { digit: '2' }),
        ];
      }
      default:
        return button(t('go-on'), () => act.take({}), { accent: true, digit: '1' });
    }
  }

  function end(tree, view, frame, job, act) {
    return guarded(`end ${frame.kind}`, null, t(`end.${frame.kind}`), { tree, view, job, act }, null,
      make('p', { class: 'question' }, t(`end.${frame.kind}.text`)),
      button(t('go-on'), () => act.take({}), { accent: true, digit: '1' }));
  }

  // Asked when an answer is changed after work on the machine was confirmed.
  function standing(tree, view, frame, job, act) {
    const boxes = [...tree.conditions.values()].map((condition) => {
      const box = make('input', { type: 'checkbox' });
      box.checked = frame.held.includes(condition.name);
      return { condition, box };
    });
    return guarded('standing', null, t('standing'), { tree, view, job, act }, null,
      make('p', { class: 'question' }, t('standing.text')),
      make('ul', { class: 'items' }, boxes.map(({ condition, box }) => make('li', {}, make('label', {}, box, make('span', { dir: 'auto' }, condition.title))))),
      button(t('standing.done'), () => {
        const on = boxes.filter(({ box }) => box.checked).map(({ condition }) => condition.name);
        act.take({ held: [...frame.held.filter((name) => on.includes(name)), ...on.filter((name) => !frame.held.includes(name))] });
      }, { accent: true, digit: '1' }));
  }

  // Every check is answered or left out, and more than one end is possible.
  const open = (tree, view, frame, job, act) =>
    guarded('end open', null, t('open.heading'), { tree, view, job, act }, null, ...Open.parts(tree, job, view, act));

  const record = (tree, view, frame, job, act) => Report.screen(tree, view, job, act, (...parts) =>
    guarded('end record', null, t('record'), { tree, view, job, act }, null, ...parts));

  const FORMS = { procedure, node, finish: end, left: end, lost: end, untested: end, standing, open, record };
  const screen = (tree, view, job, act) => FORMS[view.frame.kind](tree, view, view.frame, job, act);

  // One line a frame that was passed: what it was, and what was said.
  function line(tree, frame) {
    if (frame.kind === 'standing') {
      const set = frame.entry.held.map((name) => tree.conditions.get(name)?.title).join('; ');
      return ['', t('standing.line'), set || t('standing.none')];
    }
    if (frame.kind === 'procedure') {
      const it = tree.procedures.get(frame.procedure);
      const title = it ? words(`procedure-${it.name}`) : tree.conditions.get(frame.condition).title;
      return [it?.number ?? '', title, t(`line.${['left', 'undone'].find((one) => frame.entry[one]) ?? 'done'}`)];
    }
    if (frame.kind === 'open') {
      const chosen = tree.nodes.get(frame.entry.choose);
      return ['', t('open.heading'), chosen ? `${chosen.number} ${words(`step-${chosen.name}`)}` : t('end.open')];
    }
    if (frame.kind !== 'node') return ['', t(`end.${frame.kind}`), ''];
    const { node: it, entry } = frame;
    const title = words(`step-${it.name}`);
    if (entry.skip) return [it.number, title, t('line.cannot')];
    if (entry.undone) return [it.number, title, t('line.undone')];
    if (!('answer' in entry)) {
      return [it.number, title, it.kind === 'fault' ? t(entry.left ? 'line.not-repaired' : 'line.remedy-done') : it.kind === 'step' ? t('line.done') : ''];
    }
    const readings = (entry.values ?? []).map((value) => (value.place ? `${Reading.named(it, value.place)} ` : '') + Reading.asRead(it, value)).join(', ');
    const { label } = it.outcomes[entry.answer];
    return [it.number, title, readings ? `${readings}: ${label}` : label];
  }

  return { screen, hazards, line };
})();
