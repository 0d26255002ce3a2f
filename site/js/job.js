// A job is a symptom, a model and the list of what the technician confirmed and answered.
// Everything else (the step that is due, what is set on the machine, the trail) is worked out
// by going through that list from the start, so that changing an answer cannot leave
// anything stale behind.
const Job = (() => {
  // Frames are what the screen shows, one at a time. `key` ties an entry to its frame.
  const procedureFrame = (purpose, condition, procedure, due) => ({
    kind: 'procedure',
    key: `${purpose}/${condition ?? ''}/${procedure ?? ''}`,
    purpose, // "set-up", "undo" or "do"
    condition,
    procedure, // null: the tree names no procedure; the condition itself is asked for
    due, // the node it is for, or null at an end
  });

  function replay(tree, job) {
    const symptom = tree.symptoms.find((one) => one.name === job.symptom);
    const held = []; // conditions set, in the order they were set
    const passed = [];
    const findings = [];
    const end = { kind: null, node: null, undone: [], left: [] };
    let lastCheck = null;
    let queue = [{ node: tree.nodes.get(symptom.start) }];

    const drop = (name) => {
      if (held.includes(name)) held.splice(held.indexOf(name), 1);
    };
    const set = (name) => {
      held.filter((other) => tree.exclude(name, other)).forEach(drop);
      if (!held.includes(name)) held.push(name);
    };
    // The last set comes off first.
    const toUndo = (blocks) =>
      held.findLast((name) => blocks(name) && tree.conditions.get(name)?.undo) ?? null;

    // What has to be set up or undone before the head of the queue, one piece at a time.
    function before(head) {
      const { node } = head;
      head.tried ??= new Set();
      head.arrived ??= [...held];
      for (const [names, isNeed] of [[node.needs, true], [node.sets, false]]) {
        for (const name of names) {
          if (held.includes(name) || head.tried.has(name)) continue;
          const blocker = toUndo((other) => tree.exclude(name, other));
          if (blocker) {
            return procedureFrame('undo', blocker, tree.conditions.get(blocker).undo, node);
          }
          if (isNeed) {
            return procedureFrame('set-up', name, tree.conditions.get(name)?.setUp ?? null, node);
          }
        }
      }
      return null;
    }

    function due() {
      if (!queue.length) {
        const name = toUndo((one) => !end.left.includes(one));
        if (name) return procedureFrame('undo', name, tree.conditions.get(name).undo, null);
        return { kind: 'record', key: 'record' };
      }
      const [head] = queue;
      if (head.takedown) {
        const name = toUndo((one) => head.takedown.includes(one));
        if (name) return procedureFrame('undo', name, tree.conditions.get(name).undo, head.due);
        queue.shift();
        return due();
      }
      if (head.procedure) return procedureFrame('do', null, head.procedure.name, head.due);
      if (head.node) return before(head) ?? { kind: 'node', key: `node/${head.node.name}`, ...head };
      return { kind: head.end, key: `end/${head.end}` };
    }

    // What was set up for a remedy alone, a lock, say, or cannot have held when the check was
    // first taken: it is taken again as it was the first time.
    const notForRetest = (arrived, again) =>
      held.filter((name) => !again.needs.includes(name)
        && !(arrived.includes(name) && again.first.includes(name)));

    function follow(exit, retest) {
      const node = tree.target(exit, job.model);
      const does = exit.does.map((name) =>
        tree.nodes.has(name)
          ? { node: tree.nodes.get(name), onRequest: true }
          : { procedure: tree.procedures.get(name), due: node });
      queue = [...does, node ? { node, retest } : { end: 'lost' }];
    }

    function takeProcedure(frame, entry) {
      if (entry.left) {
        end.left.push(frame.condition);
        return;
      }
      if (frame.purpose === 'do') {
        queue.shift();
        // A procedure that sets up or undoes a condition does so wherever it is done.
        for (const [name, condition] of tree.conditions) {
          if (condition.undo === frame.procedure) drop(name);
          if (condition.setUp === frame.procedure) set(name);
        }
      } else if (frame.purpose === 'undo') {
        if (!queue.length) end.undone.push(frame.condition);
        drop(frame.condition);
      } else {
        queue[0].tried.add(frame.condition);
        set(frame.condition);
      }
    }

    function takeNode(frame, entry) {
      const { node, retest, onRequest, arrived } = frame;
      queue.shift();
      switch (node.kind) {
        case 'check':
        case 'reading': {
          const outcome = node.outcomes[entry.answer];
          lastCheck = node;
          if (retest) findings.at(-1).retest = outcome.normal;
          if (retest && outcome.normal && tree.after === 'finish') queue = [{ end: 'finish' }];
          else follow(outcome.exit, retest && outcome.exit.target === node.name);
          break;
        }
        case 'step':
          node.clears.forEach(drop);
          node.sets.forEach(set);
          if (!onRequest) {
            if (node.exit) follow(node.exit);
            else queue = [{ end: 'lost' }];
          }
          break;
        case 'fault': {
          findings.push({ node, repaired: !entry.left, retest: null });
          const again = node.retest ? tree.nodes.get(node.retest) : lastCheck;
          if (entry.left) queue = [{ end: 'left' }];
          else if (again) queue = [{ takedown: notForRetest(arrived, again), due: again }, { node: again, retest: true }];
          else queue = [{ end: 'finish' }];
          break;
        }
        default: // a hand-off or a clean end
          end.kind = node.kind;
          end.node = node;
          queue = [];
      }
    }

    let at = 0;
    let frame = due();
    while (at < job.entries.length) {
      const entry = job.entries[at];
      if (entry.key === 'standing') {
        held.splice(0, held.length, ...entry.held);
        passed.push({ kind: 'standing', key: 'standing', at, entry });
      } else if (entry.key === frame.key && frame.kind !== 'record') {
        passed.push({ ...frame, at, entry, heldBefore: [...held] });
        if (frame.kind === 'procedure') takeProcedure(frame, entry);
        else if (frame.kind === 'node') takeNode(frame, entry);
        else {
          end.kind = frame.kind;
          queue = [];
        }
      } else {
        break; // saved by another edition of this page: what does not fit is dropped
      }
      at += 1;
      frame = due();
    }
    job.entries.length = at;
    if (job.standing) frame = { kind: 'standing', key: 'standing', held: job.standing };
    return { symptom, frame, passed, held, findings, end };
  }

  // Takes back the entry at `at` and all after it. What was set on the machine meanwhile does
  // not undo itself: where that matters the technician is asked how the machine stands.
  function takeBack(tree, job, at) {
    const whole = [...job.entries, ...(job.taken?.entries ?? [])];
    const now = replay(tree, { ...job, entries: [...whole], standing: null });
    const frame = now.passed.find((one) => one.at === at);
    const then = replay(tree, { ...job, entries: whole.slice(0, at), standing: null });
    const touched = frame && frame.kind === 'procedure' ? [frame.condition] : [];
    if (frame && frame.kind === 'node') touched.push(...frame.node.sets, ...frame.node.clears);
    const differs = [...tree.conditions.keys()].some((name) =>
      !touched.includes(name) && now.held.includes(name) !== then.held.includes(name));
    job.entries = whole.slice(0, at);
    job.taken = { entries: whole.slice(at) };
    job.standing = differs ? now.held.filter((name) => !touched.includes(name)) : null;
    job.draft = null;
  }

  function putBack(job) {
    job.entries.push(...job.taken.entries);
    job.taken = null;
    job.standing = null;
    job.draft = null;
  }

  function take(job, entry) {
    job.entries.push(entry);
    job.taken = null;
    job.standing = null;
    job.draft = null;
  }

  const fresh = (symptom, model) => ({
    symptom, model, entries: [], taken: null, standing: null, draft: null, head: {},
  });

  return { replay, takeBack, putBack, take, fresh };
})();
