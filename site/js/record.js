// The record of a job: what was asked, answered, found and done, to print, copy or save.
const Record = (() => {
  const words = (anchor, selector = '.title') =>
    (Page.find(anchor, selector)?.textContent ?? '').replace(/\s+/g, ' ').trim();

  function answerOf(frame) {
    const { node, entry } = frame;
    return {
      number: node.number,
      name: node.name,
      question: words(`step-${node.name}`),
      answer: node.outcomes[entry.answer].label,
      retest: Boolean(frame.retest),
      readings: (entry.values ?? []).map((value) => ({
        place: value.place,
        typed: value.text.trim(),
        unit: value.unit,
        text: Reading.asRead(node, value),
      })),
    };
  }

  function make(tree, job, view) {
    const conditionTitle = (name) => tree.conditions.get(name).title;
    const done = view.passed
      .filter((frame) => (frame.kind === 'procedure' && !frame.entry.left) || (frame.kind === 'node' && frame.node.kind === 'step'))
      .map((frame) => frame.node
        ? `${frame.node.number} ${words(`step-${frame.node.name}`)}`
        : frame.procedure
          ? `${tree.procedures.get(frame.procedure).number} ${words(`procedure-${frame.procedure}`)}`
          : conditionTitle(frame.condition));
    return {
      record: 'treewright job',
      version: 1,
      tree: { name: tree.name, edition: tree.edition, date: tree.date, fingerprint: tree.fingerprint },
      machine: tree.machine,
      model: job.model,
      ...job.head,
      symptom: { name: view.symptom.name, title: words(`symptom-${view.symptom.name}`) },
      answers: view.passed
        .filter((frame) => frame.kind === 'node' && 'answer' in frame.entry)
        .map(answerOf),
      notDone: view.passed
        .filter((frame) => frame.entry.skip)
        .map(({ node }) => ({ number: node.number, name: node.name, question: words(`step-${node.name}`) })),
      possible: (view.end.possible ?? []).map(({ number, name }) => ({ number, name, fault: words(`step-${name}`) })),
      done,
      findings: view.findings.map((found) => ({
        number: found.node.number,
        name: found.node.name,
        fault: words(`step-${found.node.name}`),
        remedy: words(`step-${found.node.name}`, '.remedy .text'),
        repaired: found.repaired,
        unsure: found.unsure,
        retest: found.retest === null ? null : found.retest ? 'passed' : 'failed',
      })),
      end: {
        kind: view.end.kind,
        text: t(`record.end.${view.end.kind}`),
        name: view.end.node?.name ?? null,
        title: view.end.node ? words(`step-${view.end.node.name}`) : null,
        to: view.end.node?.kind === 'handoff' ? words(`step-${view.end.node.name}`, '.to strong') : null,
      },
      undone: view.end.undone.map(conditionTitle),
      leftSet: view.end.left.map(conditionTitle),
    };
  }

  const HEAD = ['date', 'who', 'serial', 'hours', 'note'];

  // The record as pairs of words, the one source of the printed page and of the copied text.
  function lines(record) {
    const list = [[t('record.machine'), record.machine]];
    if (record.model) list.push([t('record.model'), record.model]);
    for (const key of HEAD) if (record[key]) list.push([t(`record.${key}`), record[key]]);
    list.push([t('record.symptom'), record.symptom.title]);
    for (const one of record.answers) {
      const readings = one.readings.map((read) => (read.place ? `${read.place} ` : '') + read.text).join(', ');
      list.push([one.retest ? t('record.retest', { title: `${one.number} ${one.question}` }) : `${one.number} ${one.question}`, readings ? `${readings}: ${one.answer}` : one.answer]);
    }
    for (const one of record.notDone) list.push([`${one.number} ${one.question}`, t('line.cannot')]);
    if (record.possible.length) list.push([t('suspect.open'), record.possible.map((one) => `${one.number} ${one.fault}`).join('; ')]);
    for (const found of record.findings) {
      const retest = found.retest ? `-${found.retest}` : '';
      list.push([`${found.number} ${found.fault}`, found.repaired ? t(`record.remedy${retest}`, { remedy: found.remedy }) : t('record.not-repaired')]);
    }
    if (record.done.length) list.push([t('record.also-done'), record.done.join('; ')]);
    const end = [record.end.text, record.end.title, record.end.to ? t('record.call', { who: record.end.to }) : null];
    list.push([t('record.end'), end.filter(Boolean).join(': ')]);
    if (record.undone.length) list.push([t('record.undone'), record.undone.join('; ')]);
    if (record.leftSet.length) list.push([t('record.left-set'), record.leftSet.join('; ')]);
    return list;
  }

  const text = (record, mark) => [...lines(record).map(([label, value]) => `${label}: ${value}`), mark].join('\n');

  return { make, lines, text, words, HEAD };
})();
