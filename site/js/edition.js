// A job that was begun with another edition of the tree: how much of it still fits this one.
// An entry fits where the same is due, asked in the same words, and its answer is still one.
const Edition = (() => {
  const PARTS = '.hazards, .title, .how, .items, .remedy, .to';
  const LIMITS = '.spec, .answers .detail';

  // A short mark of the words of an element's parts (FNV-1a, 32 bits).
  function markOf(element, parts) {
    let mark = 0x811c9dc5;
    const texts = element ? [...element.querySelectorAll(parts)].map((part) => part.textContent) : [];
    for (const unit of texts.join('\n').replace(/\s+/g, ' ')) {
      mark = Math.imul(mark ^ unit.codePointAt(0), 0x01000193);
    }
    return (mark >>> 0).toString(16);
  }

  const absent = (value) => value === undefined || value === null;
  const nodeOf = (tree, { key }) => (key.startsWith('node/') ? tree.nodes.get(key.slice('node/'.length)) : null);

  // The piece of the document that an entry is about. Always in the tree's own language.
  function pieceOf(tree, entry) {
    const node = nodeOf(tree, entry);
    const procedure = node ? null : entry.key.split('/')[2];
    const place = node ? `step-${node.name}` : procedure ? `procedure-${procedure}` : null;
    return place && Page.piece(place, Page.first);
  }

  // What is noted with an entry, so that another edition can be held against it.
  function notes(tree, entry) {
    const piece = pieceOf(tree, entry);
    const found = { asked: markOf(piece, PARTS) };
    if (!absent(entry.answer)) {
      found.said = nodeOf(tree, entry).outcomes[entry.answer].label;
      found.limits = markOf(piece, LIMITS);
    }
    return found;
  }

  // The entry as it stands in this edition, or null where it no longer fits.
  function refit(tree, job, entry) {
    if (entry.asked !== markOf(pieceOf(tree, entry), PARTS)) return null;
    if (absent(entry.answer)) return entry;
    const node = nodeOf(tree, entry);
    const answer = node?.outcomes.findIndex((one) => one.label === entry.said) ?? -1;
    if (answer < 0) return null;
    if (node.kind === 'reading') {
      if (entry.values?.length) {
        if (Tree.judgeTyped(node, entry.values, job.model) !== answer) return null;
      } else if (markOf(pieceOf(tree, entry), LIMITS) !== entry.limits) return null;
    }
    return { ...entry, answer };
  }

  // The entries that still fit, up to the first that does not.
  function fitting(tree, job) {
    const kept = [];
    const symptom = tree.symptoms.find((one) => one.name === job.symptom);
    const isModel = tree.models.length ? tree.models.includes(job.model) : job.model === null;
    if (!symptom || !isModel || !tree.isFor(symptom, job.model)) return kept;
    let facts = Facts.none();
    for (const entry of job.entries) {
      const node = nodeOf(tree, entry);
      const fit = entry.key === 'standing'
        ? { ...entry, held: entry.held.filter((name) => tree.conditions.has(name)) }
        : entry.by ? node && Facts.elsewhere(facts, node, job.model) : refit(tree, job, entry);
      const tried = fit && Job.replay(tree, { ...job, entries: [...kept, fit], pool: [], standing: null, asIs: true });
      if (tried?.passed.length !== kept.length + 1) break;
      kept.push(fit);
      facts = tried.facts;
    }
    return kept;
  }

  // Makes the job one of this edition. Where anything falls away, the machine may stand
  // otherwise than what is left tells: that is asked.
  function carryOver(tree, job, kept) {
    const whole = kept.length === job.entries.length;
    if (job.fingerprint !== tree.fingerprint) job.before = [...job.before, job.mark];
    Object.assign(job, {
      entries: kept, fingerprint: tree.fingerprint, mark: tree.mark,
      taken: null, pool: [], told: null, standing: null, draft: null,
    });
    if (!whole && tree.conditions.size) job.standing = Job.replay(tree, { ...job, entries: [...kept] }).held;
  }

  return { notes, fitting, carryOver };
})();
