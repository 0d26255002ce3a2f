// What a job has brought to light so far: answers, and what steps and remedies put in doubt.
const Facts = (() => {
  // known: by check, its last answer that nothing has put in doubt since.
  // told: every answer that speaks about the fault, in the order in which they were given.
  // mending: the checks whose good answer may only say that a step has mended what was bad.
  const none = () => ({ known: new Map(), told: [], mending: new Set() });

  function answer(facts, node, answered, mended) {
    facts.known.set(node.name, answered);
    facts.told.push({ node, answer: answered, mended: mended || facts.mending.has(node.name) });
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

  return { none, answer, step, remedy };
})();
