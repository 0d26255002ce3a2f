// The record of a job: what was asked, answered, found and done, to print, copy or save.
const Record = (() => {
  const words = (anchor, selector = '.title') =>
    (Page.find(anchor, selector)?.textContent ?? '').replace(/\s+/g, ' ').trim();

  const ENDS = {
    finish: 'Repaired; the retest passed',
    left: 'Found, but not repaired',
    lost: 'Stopped: the tree gives no way on',
    handoff: 'Handed over',
    done: 'Nothing wrong found, or put right',
  };

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
      done,
      findings: view.findings.map((found) => ({
        number: found.node.number,
        name: found.node.name,
        fault: words(`step-${found.node.name}`),
        remedy: words(`step-${found.node.name}`, '.remedy').replace(/^Remedy\s*/, ''),
        repaired: found.repaired,
        retest: found.retest === null ? null : found.retest ? 'passed' : 'failed',
      })),
      end: {
        kind: view.end.kind,
        text: ENDS[view.end.kind],
        name: view.end.node?.name ?? null,
        title: view.end.node ? words(`step-${view.end.node.name}`) : null,
        to: view.end.node?.kind === 'handoff' ? words(`step-${view.end.node.name}`, '.to strong') : null,
      },
      undone: view.end.undone.map(conditionTitle),
      leftSet: view.end.left.map(conditionTitle),
    };
  }

  const HEAD = [
    ['date', 'Date'], ['who', 'Done by'], ['serial', 'Serial number'], ['hours', 'Hours run'], ['note', 'Note'],
  ];

  // The record as pairs of words, the one source of the printed page and of the copied text.
  function lines(record) {
    const list = [['Machine', record.machine]];
    if (record.model) list.push(['Model', record.model]);
    for (const [key, label] of HEAD) if (record[key]) list.push([label, record[key]]);
    list.push(['Symptom', record.symptom.title]);
    for (const one of record.answers) {
      const readings = one.readings.map((read) => (read.place ? `${read.place} ` : '') + read.text).join(', ');
      list.push([`${one.number} ${one.question}${one.retest ? ' (retest)' : ''}`, readings ? `${readings}: ${one.answer}` : one.answer]);
    }
    for (const found of record.findings) {
      const retest = found.retest ? ` (retest ${found.retest})` : '';
      list.push([`${found.number} ${found.fault}`, found.repaired ? `Remedy done${retest}: ${found.remedy}` : 'Not repaired']);
    }
    if (record.done.length) list.push(['Also done', record.done.join('; ')]);
    const end = [record.end.text, record.end.title, record.end.to ? `call ${record.end.to}` : null];
    list.push(['End', end.filter(Boolean).join(': ')]);
    if (record.undone.length) list.push(['Undone at the end', record.undone.join('; ')]);
    if (record.leftSet.length) list.push(['LEFT AS IT IS', record.leftSet.join('; ')]);
    return list;
  }

  const text = (record, mark) => [...lines(record).map(([label, value]) => `${label}: ${value}`), mark].join('\n');

  return { make, lines, text, words, HEAD };
})();
