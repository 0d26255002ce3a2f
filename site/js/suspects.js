// Which faults can still be the one, by what they show; how often each; and which checks would
// tell them apart. One fault is taken to be there, not several.
const Suspects = (() => {
  const ALL = [100n, 1n];

  // What faults show. A check that a fault does not list gives its normal answer; a fault that
  // lists nothing at all may give any answer.
  const lists = new WeakMap();
  function shown(tree) {
    if (lists.has(tree)) return lists.get(tree);
    const byFault = new Map();
    const byCheck = new Map();
    for (const fault of tree.nodes.values()) {
      const row = new Map();
      byFault.set(fault, row);
      for (const [name] of fault.shows) {
        const same = fault.shows.filter((one) => one[0] === name);
        const answers = new Set(same.map(([, answer]) => answer));
        if (same.every(([, , maybe]) => maybe)) {
          tree.nodes.get(name).outcomes.forEach((one, at) => one.normal && answers.add(at));
        }
        row.set(name, answers);
        byCheck.set(name, (byCheck.get(name) ?? new Set()).add(fault));
      }
    }
    lists.set(tree, { byFault, byCheck });
    return lists.get(tree);
  }

  function gives(tree, fault, node, answer) {
    const row = shown(tree).byFault.get(fault);
    if (!row.size) return true;
    return row.get(node.name)?.has(answer) ?? node.outcomes[answer].normal;
  }

  // The faults behind a job's symptom: those still open, and those ruled out, each with the
  // check that did it (none where its remedy was done and
  // no retest has failed since).
  function weigh(tree, job, view) {
    const out = new Map();
    const open = new Set(tree.behind(view.symptom.start, job.model));
    for (const { node, repaired, retest } of view.findings) {
      if (repaired && retest !== false && open.delete(node)) out.set(node, null);
    }
    for (const { node, answer, mended } of view.facts.told) {
      const { normal } = node.outcomes[answer];
      if (normal && mended) continue;
      // A good answer speaks only about faults that list its check.
      for (const fault of normal ? shown(tree).byCheck.get(node.name) ?? [] : open) {
        if (open.has(fault) && !gives(tree, fault, node, answer)) {
          open.delete(fault);
          out.set(fault, node);
        }
      }
    }
    return { open: byShare([...open]), out };
  }

  // The faults that the ways still open lead to and that no answer rules out. Where the answers
  // rule out all of them, the ways alone count.
  function possible(tree, job, view) {
    const led = new Set(view.places.flatMap(({ node, state, due }) =>
      (state === 'end' ? (node.kind === 'fault' ? [node] : []) : tree.behind((due ?? node)?.name, job.model))));
    const { open } = weigh(tree, job, view);
    const both = open.filter((fault) => led.has(fault));
    const all = () => byShare([...tree.nodes.values()].filter((one) => led.has(one)));
    return { faults: both.length ? both : all(), against: !both.length && led.size > 0 };
  }

  const shares = new WeakMap();
  function share(fault) {
    if (!shares.has(fault)) shares.set(fault, Exact.read(fault.share));
    return shares.get(fault);
  }

  // The most frequent first; those of which no share is written last.
  function byShare(faults) {
    return faults.sort((a, b) => {
      if (a.share === null || b.share === null) return (a.share === null) - (b.share === null);
      return Exact.compare(share(b), share(a));
    });
  }

  // Whole per cent by fault, of those with a share; null where none is written.
  function percents(faults) {
    const sum = faults.reduce((all, one) => (one.share === null ? all : Exact.add(all, share(one))), [0n, 1n]);
    return new Map(faults.map((fault) => {
      if (fault.share === null || !sum[0]) return [fault, null];
      const [over, under] = Exact.over(Exact.times(share(fault), ALL), sum);
      return [fault, { whole: Number((2n * over + under) / (2n * under)), some: over > 0n }];
    }));
  }

  // The checks whose answer differs among some faults: those that leave the fewest at worst first.
  function deciding(tree, job, faults) {
    const { byFault } = shown(tree);
    const names = new Set(faults.flatMap((fault) => [...byFault.get(fault).keys()]));
    return [...tree.nodes.values()]
      .filter((node) => names.has(node.name) && tree.isFor(node, job.model))
      .map((node) => {
        const left = node.outcomes.map((_, at) => faults.map((fault) => gives(tree, fault, node, at)));
        return {
          node,
          differs: left.some((row) => row.includes(true) && row.includes(false)),
          worst: Math.max(...left.map((row) => row.filter(Boolean).length)),
        };
      })
      .filter((one) => one.differs)
      .sort((a, b) => a.worst - b.worst)
      .map((one) => one.node);
  }

  return { weigh, possible, percents, deciding };
})();
