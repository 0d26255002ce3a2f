// The jobs that the device keeps for this tree, side by side, each under a key of its own.
const Jobs = (() => {
  const isText = (value) => typeof value === 'string' && value.length <= 10000;
  const isTexts = (value) => Array.isArray(value) && value.every(isText);
  const isValue = (value) => [value?.place, value?.text, value?.unit].every(isText);
  const absent = (value) => value === undefined || value === null;

  function isEntry(entry) {
    return isText(entry?.key)
      && (absent(entry.answer) || (Number.isInteger(entry.answer) && entry.answer >= 0))
      && (absent(entry.values) || (Array.isArray(entry.values) && entry.values.every(isValue)))
      && (entry.key === 'standing' ? isTexts(entry.held) : true)
      && (absent(entry.seconds) || (Number.isFinite(entry.seconds) && entry.seconds >= 0));
  }

  // Whether something read from outside has the shape of a job.
  function isSound(job) {
    return isText(job?.id) && isText(job.symptom) && (job.model === null || isText(job.model))
      && isText(job.fingerprint) && isText(job.mark) && isTexts(job.before)
      && Array.isArray(job.entries) && job.entries.length <= 5000 && job.entries.every(isEntry)
      && (absent(job.pool) || (Array.isArray(job.pool) && job.pool.every(isEntry)))
      && (absent(job.read) || isTexts(job.read))
      && typeof job.head === 'object' && job.head !== null && Object.values(job.head).every(isText)
      && Clock.isSound(job.clock);
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
  const whole = (job) => ({ ...Job.fresh(job.symptom, job.model), last: '', changed: 0, ...job });

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
