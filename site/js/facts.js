// What a job has brought to light so far: answers, and what steps and remedies put in doubt.
const Facts = (() => {
  // known: by check, the entry of its last answer that nothing has put in doubt since.
  // told: every answer that speaks about the fault, in the order in which they were given.
  // mending: the checks whose good answer may only say that a step has mended what was bad.
  const none = () => ({ known: new Map(), told: [], mending: new Set() });

  // What was found at others that ask the same is out of date then, unless the answer is only
  // what was found there.
  function answer(facts, node, entry) {
    if (!entry.by) node.same.forEach(([other]) => facts.known.delete(other));
    facts.known.set(node.name, entry);
    facts.told.push({ node, answer: entry.answer, mended: entry.mended || facts.mending.has(node.name) });
  }

  // What an answer that stands at another check says at this one, which was not asked yet: an
  // entry, or null. Numbers are judged by the limits that hold here.
  function elsewhere(facts, node, model) {
    const [other, answers] = (!facts.known.has(node.name) && node.same.find(([name]) => facts.known.has(name))) || [];
    if (!other) return null;
    const { answer: said, values, mended, by } = facts.known.get(other);
    const answer = node.kind === 'reading' && values?.length ? Tree.judgeTyped(node, values, model) : answers[said] ?? -1;
    return answer < 0 ? null : { key: `node/${node.name}`, answer, values, mended, kept: true, by: by ?? other };
  }

  function step(facts, { doubts }) {
    for (const name of doubts ?? []) {
      facts.known.delete(name);
      facts.mending.add(name);
    }
  }

  // A remedy that says nothing of what it puts in doubt puts everything in doubt.
  function remedy(facts, { doubts }) {
    if (doubts) doubts.forEach((name) => facts.known.delete(name));
    else {
      facts.known.clear();
      facts.mending.clear();
    }
    facts.told = facts.told.filter(({ node }) => doubts && !doubts.includes(node.name));
  }

  return { none, answer, elsewhere, step, remedy };
})();
