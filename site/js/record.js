// The record of a job as data: what was asked, answered, found and done, how long it took. Its
// shape is grammar/record.schema.json. A saved record can be loaded again.
const Record = (() => {
  const VERSION = 1;
  const HEAD = ['date', 'who', 'serial', 'hours', 'note'];

  const words = (anchor, selector = '.title') =>
    (Page.find(anchor, selector)?.textContent ?? '').replace(/\s+/g, ' ').trim();

  const minutes = ({ seconds, kept }) => (Number.isFinite(seconds) && !kept ? Math.round(seconds / 6) / 10 : null);

  function answerOf(tree, frame, model) {
    const { node, entry } = frame;
    const outcome = node.outcomes[entry.answer];
    return {
      number: node.number,
      name: node.name,
      question: words(`step-${node.name}`),
      answer: outcome.label,
      good: outcome.normal,
      limit: Tree.detail(outcome, model) || null,
      retest: Boolean(frame.retest),
      by: tree.nodes.get(entry.by)?.number ?? null,
      readings: (entry.values ?? []).map((value) => ({
        place: Reading.named(node, value.place),
        typed: value.text.trim(),
        unit: value.unit,
        text: Reading.asRead(node, value),
      })),
      minutes: minutes(entry),
    };
  }

  function doneOf(tree, frame) {
    const found = { number: '', title: '', minutes: minutes(frame.entry) };
    if (frame.node) return { ...found, number: frame.node.number, title: words(`step-${frame.node.name}`) };
    if (!frame.procedure) return { ...found, title: tree.conditions.get(frame.condition).title };
    return { ...found, number: tree.procedures.get(frame.procedure).number, title: words(`procedure-${frame.procedure}`) };
  }

  function make(tree, job, view) {
    const conditionTitle = (name) => tree.conditions.get(name).title;
    const { taken, pool, told, read, standing, draft, last, changed, ...kept } = job;
    Clock.settle(job.clock);
    return {
      record: 'treewright job',
      version: VERSION,
      tree: {
        name: tree.name, title: words('top', '.tree-title'), edition: tree.edition, date: tree.date, fingerprint: tree.fingerprint, mark: tree.mark,
      },
      before: job.before,
      language: Page.home().dataset.tongue,
      machine: tree.machine,
      model: job.model,
      ...Object.fromEntries(HEAD.map((key) => [key, job.head[key] ?? ''])),
      symptom: { name: view.symptom.name, title: words(`symptom-${view.symptom.name}`) },
      answers: view.passed
        .filter((frame) => frame.kind === 'node' && Number.isInteger(frame.entry.answer))
        .map((frame) => answerOf(tree, frame, job.model)),
      notDone: view.passed
        .filter((frame) => frame.entry.skip)
        .map(({ node }) => ({ number: node.number, name: node.name, question: words(`step-${node.name}`) })),
      possible: (view.end.possible ?? []).map(({ number, name }) => ({ number, name, fault: words(`step-${name}`) })),
      done: view.passed
        .filter(({ kind, node, entry }) => !entry.left && !entry.skip && !entry.undone
          && (kind === 'procedure' || (kind === 'node' && node.kind === 'step')))
        .map((frame) => doneOf(tree, frame)),
      findings: view.findings.map((found) => ({
        number: found.node.number,
        name: found.node.name,
        fault: words(`step-${found.node.name}`),
        remedy: words(`step-${found.node.name}`, '.remedy .text'),
        repaired: found.repaired,
        unsure: found.unsure,
        retest: found.retest === null ? null : found.retest ? 'passed' : 'failed',
      })),
      end: view.end.kind === null ? null : {
        kind: view.end.kind,
        text: t(`record.end.${view.end.kind}`),
        name: view.end.node?.name ?? null,
        title: view.end.node ? words(`step-${view.end.node.name}`) : null,
        to: view.end.node?.kind === 'handoff' ? words(`step-${view.end.node.name}`, '.to strong') : null,
      },
      undone: view.end.undone.map(conditionTitle),
      leftSet: view.end.left.map(conditionTitle),
      minutes: minutes({ seconds: job.clock.total / 1000 }),
      job: kept,
    };
  }

  // The record as words, the one source of the printed page and of the copied text: each a label
  // and what stands below it, one or more, each with its minutes.
  function lines(record) {
    const list = [];
    const spent = (one) => (!one.minutes ? null : t('record.step-minutes', { minutes: one.minutes }));
    const add = (label, value, one = {}) => list.push([label, [[value, spent(one)]]]);
    const several = (label, all, words) => all.length && list.push([t(label), all.map((one) => [words(one).trim(), spent(one)])]);
    const itself = (one) => one;
    add(t('record.machine'), record.machine);
    if (record.model) add(t('record.model'), record.model);
    for (const key of HEAD) if (record[key]) add(t(`record.${key}`), record[key]);
    add(t('record.symptom'), record.symptom.title);
    for (const one of record.answers) {
      const readings = one.readings.map((read) => (read.place ? `${read.place} ` : '') + read.text).join(', ');
      const asked = `${one.number} ${one.question}`;
      const limit = one.limit ? ` (${one.limit})` : '';
      add(one.retest ? t('record.retest', { title: asked }) : asked, (readings ? `${readings}: ` : '') + one.answer + limit + (one.by ? ` (${t('line.same', { number: one.by })})` : ''), one);
    }
    several('record.not-done', record.notDone, (one) => `${one.number} ${one.question}`);
    several('suspect.open', record.possible, (one) => `${one.number} ${one.fault}`);
    for (const found of record.findings) {
      const retest = found.retest ? `-${found.retest}` : '';
      add(`${found.number} ${found.fault}`, found.repaired ? t(`record.remedy${retest}`, { remedy: found.remedy }) : t('record.not-repaired'));
    }
    several('record.done', record.done, (one) => `${one.number} ${one.title}`);
    if (record.end) {
      const end = [record.end.text, record.end.title, record.end.to ? t('record.call', { who: record.end.to }) : null];
      add(t('record.end'), end.filter(Boolean).join(': '));
    }
    several('record.undone', record.undone, itself);
    several('record.left-set', record.leftSet, itself);
    add(t('record.minutes'), String(record.minutes));
    for (const mark of record.before) add(t('record.before'), mark);
    return list;
  }

  const text = (record) => [
    ...lines(record).map(([label, values]) => `${label}: ${values.map(([value, spent]) => value + (spent ? ` [${spent}]` : '')).join('; ')}`),
    record.tree.mark,
  ].join('\n');

  // A saved record as a job, or why it is none: {job} or {problem, tree}.
  function read(tree, written) {
    let record;
    try {
      record = JSON.parse(written);
    } catch {
      return { problem: 'not-json' };
    }
    if (record?.record !== 'treewright job' || !Number.isInteger(record.version)) return { problem: 'foreign' };
    if (record.version > VERSION) return { problem: 'version' };
    if (record.tree?.name !== tree.name) {
      return typeof record.tree?.name === 'string' ? { problem: 'other-tree', tree: record.tree.name.slice(0, 80) } : { problem: 'foreign' };
    }
    if (!Jobs.isSound(record.job)) return { problem: 'foreign' };
    const job = Jobs.whole({ ...record.job, id: Jobs.freeId(tree), taken: null, pool: [], told: null, read: [], standing: null, draft: null });
    Clock.stop(job.clock);
    // Entries that another hand changed are asked about, as if another edition had made them.
    if (Edition.fitting(tree, job).length < job.entries.length) job.fingerprint = '';
    return { job };
  }

  return { make, lines, text, read, words, HEAD };
})();
