// Taking entries, taking them back, and what of the work done since still holds afterwards.
const Change = (() => {
  // Takes back the entry at `at` and all after it. What was set on the machine meanwhile does
  // not undo itself: where that matters the technician is asked how the machine stands.
  function takeBack(tree, job, at) {
    const whole = [...job.entries, ...(job.taken?.entries ?? [])];
    const now = Job.replay(tree, { ...job, entries: [...whole], pool: [], standing: null });
    const frame = now.passed.find((one) => one.at === at);
    const then = Job.replay(tree, { ...job, entries: whole.slice(0, at), pool: [], standing: null });
    const touched = frame?.kind === 'procedure' ? [frame.condition] : [];
    if (frame?.kind === 'node') touched.push(...frame.node.sets, ...frame.node.clears);
    const differs = [...tree.conditions.keys()].some((name) =>
      !touched.includes(name) && now.held.includes(name) !== then.held.includes(name));
    job.entries = whole.slice(0, at);
    job.taken = { entries: whole.slice(at), ...holding(job, now.passed.filter((one) => one.at >= at)) };
    job.standing = differs ? now.held.filter((name) => !touched.includes(name)) : null;
    job.draft = null;
    job.told = null;
    job.anew = null;
  }

  // An answer that was given is only put right, unless it is to be taken anew: that needs no set-up.
  function amends(job, frame) {
    const [first] = job.taken?.entries ?? [];
    return Boolean(first && !job.anew && frame.before && first.key === `node/${frame.before.node.name}` && 'answer' in first);
  }

  // What was found, done and left out from the first of these frames on, that one not counted, and
  // is not in doubt since: a check's last answer, a step. `doubted`: what is in doubt, and by what.
  function holding(job, frames) {
    const pool = new Map(job.pool.map((entry) => [entry.key, entry]));
    const doubted = [];
    frames.forEach(({ kind, node, purpose, entry, mended, retest }, index) => {
      const work = node ? ['check', 'reading', 'step'].includes(node.kind) : purpose === 'do';
      if (kind === 'node') doubted.push(...doubt(pool, node, entry));
      if (work) pool.delete(entry.key);
      if (work && index && !entry.undone && !entry.by && !(retest && entry.skip)) pool.set(entry.key, { ...entry, mended });
    });
    return { pool: [...pool.values()], doubted };
  }

  // Takes out what a step or a remedy puts in doubt.
  function doubt(pool, node, entry) {
    if (!['step', 'fault'].includes(node.kind) || entry.undone || entry.left) return [];
    const every = [...pool.keys()].map((key) => key.slice('node/'.length));
    const names = node.doubts ?? (node.kind === 'fault' ? every : []);
    return names
      .filter((name) => pool.get(`node/${name}`)?.answer !== undefined && pool.delete(`node/${name}`))
      .map((name) => ({ name, by: node.name }));
  }

  function putBack(job) {
    job.entries.push(...job.taken.entries);
    job.taken = null;
    job.standing = null;
    job.draft = null;
  }

  // Takes an entry. The first one after something was taken back brings in what still holds.
  function take(tree, job, entry) {
    const { taken } = job;
    job.standing = null;
    job.draft = null;
    job.told = null;
    job.entries.push(entry);
    if (entry.key === 'standing') return;
    if (entry.key === job.anew) job.anew = null;
    job.taken = null;
    const number = (name) => tree.nodes.get(name).number;
    const named = (key) => tree.nodes.get(key.slice('node/'.length));
    const pool = new Map((taken ?? job).pool.map((one) => [one.key, one]));
    const node = named(entry.key);
    const doubted = [...(taken?.doubted ?? []), ...(node ? doubt(pool, node, entry) : [])];
    job.pool = [...pool.values()];
    const count = job.entries.length;
    const { passed } = Job.replay(tree, job);
    const back = passed.filter((one) => one.at >= count && one.node);
    const kept = back.filter((one) => !one.entry.by && !one.entry.skip).map((one) => one.node.number);
    const same = back.filter((one) => one.entry.by).map((one) => [one.node.number, number(one.entry.by)]);
    const aside = taken ? job.pool.filter((one) => !one.skip).map((one) => named(one.key)).filter((one) => one?.outcomes.length).map((one) => one.number) : [];
    const lost = doubted.map(({ name, by }) => [number(name), number(by)]);
    if ([kept, same, lost, aside].some((one) => one.length)) job.told = { kept, same, lost, aside };
  }

  // What is kept aside for a frame, if it fits: an answer where its check is reached again, a step
  // or procedure where the machine still stands as that left it. Never a retest.
  function keep(job, frame, held) {
    if (!job.pool.length) return null;
    const head = frame.before ?? frame; // in front of the set-up for it, which is not needed then
    const key = head.node ? `node/${head.node.name}` : frame.key;
    const index = job.pool.findIndex((entry) => entry.key === key);
    const entry = job.pool[index];
    if (!entry || head.retest || (frame.kind !== 'node' && frame.kind !== 'procedure')) return null;
    if (head.node?.kind === 'step'
      && !(head.node.sets.every((name) => held.includes(name)) && !head.node.clears.some((name) => held.includes(name)))) return null;
    job.pool.splice(index, 1);
    return { ...entry, kept: true };
  }

  return { takeBack, amends, putBack, take, keep };
})();
