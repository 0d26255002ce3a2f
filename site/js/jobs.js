// The jobs that the device keeps for this tree, side by side, each under a key of its own.
const Jobs = (() => {
  const isText = (value) => typeof value === 'string' && value.length <= 10000;
  const isTexts = (value) => Array.isArray(value) && value.every(isText);
  const isValue = (value) => [value?.place, value?.text, value?.unit].every(isText);
  const isList = (value, each) => Array.isArray(value) && value.every(each);
  const absent = (value) => value === undefined || value === null;

  function isEntry(entry) {
    return isText(entry?.key)
      && (absent(entry.answer) || (Number.isInteger(entry.answer) && entry.answer >= 0))
      && (absent(entry.values) || isList(entry.values, isValue))
      && (entry.key === 'standing' ? isTexts(entry.held) : entry.held === undefined || isTexts(entry.held))
      && [entry.asked, entry.said, entry.limits, entry.by].every((one) => one === undefined || isText(one))
      && (absent(entry.seconds) || (Number.isFinite(entry.seconds) && entry.seconds >= 0));
  }

  // Whether something read from outside has the shape of a job.
  function isSound(job) {
    return isText(job?.id) && isText(job.symptom) && (job.model === null || isText(job.model))
      && isText(job.fingerprint) && isText(job.mark) && isTexts(job.before)
      && isList(job.entries, isEntry) && job.entries.length <= 5000
      && typeof job.head === 'object' && job.head !== null && !Array.isArray(job.head) && Object.values(job.head).every(isText)
      && Clock.isSound(job.clock);
  }

  // What only helps along is dropped where it is not what this page writes.
  function helps(job) {
    const { pool, read, taken, told, standing, draft } = job;
    return {
      pool: isList(pool, isEntry) ? pool : [],
      read: isTexts(read) ? read : [],
      taken: isList(taken?.entries, isEntry) && isList(taken.pool, isEntry) && isList(taken.doubted, (one) => isText(one?.name) && isText(one.by)) ? taken : null,
      told: [told?.kept, told?.aside].every((one) => isList(one, isText)) && [told.lost, told.same].every((one) => isList(one, isTexts)) ? told : null,
      standing: isTexts(standing) ? standing : null,
      draft: isText(draft?.key) && (absent(draft.values) || isList(draft.values, isValue)) && (absent(draft.ticks) || Array.isArray(draft.ticks)) ? draft : null,
      last: isText(job.last) ? job.last : '',
      changed: Number.isFinite(job.changed) ? job.changed : 0,
    };
  }

  const start = (tree) => `treewright:${tree.name}:job:`;
  const place = (tree) => `treewright:${tree.name}:current`;

  // The next name that is free; names need not be secret, only apart.
  function freeId(tree) {
    let number = Date.now();
    while (Store.read(start(tree) + number.toString(36)) !== null) number += 1;
    return number.toString(36);
  }

  function begin(tree, symptom, model) {
    return {
      ...Job.fresh(symptom, model),
      id: freeId(tree), fingerprint: tree.fingerprint, mark: tree.mark, before: [], last: '', changed: 0, clock: Clock.fresh(),
    };
  }

  // A job as it may be worked on: what is missing of it is put in.
  const whole = (job) => ({ ...Job.fresh(job.symptom, job.model), ...job, ...helps(job) });

  function get(tree, id) {
    try {
      const job = JSON.parse(Store.read(start(tree) + id));
      return isSound(job) ? whole(job) : null;
    } catch {
      return null;
    }
  }

  // All jobs, the one last worked on first.
  function all(tree) {
    return Store.keys(start(tree))
      .map((key) => get(tree, key.slice(start(tree).length)))
      .filter(Boolean)
      .sort((a, b) => b.changed - a.changed);
  }

  function save(tree, job) {
    job.changed = Date.now();
    Store.write(start(tree) + job.id, JSON.stringify(job));
  }

  const remove = (tree, id) => Store.remove(start(tree) + id);

  // The job that is being worked on; null: none, the start screen is shown.
  const current = (tree) => get(tree, Store.read(place(tree)) ?? '');
  function setCurrent(tree, id) {
    if (id === null) Store.remove(place(tree));
    else Store.write(place(tree), id);
  }

  return { isSound, begin, whole, freeId, get, all, save, remove, current, setCurrent };
})();
