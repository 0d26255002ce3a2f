// A job is a symptom, a model and the list of what the technician confirmed and answered.
// Everything else (the step that is due, what is set on the machine, the trail) is worked out
// by going through that list from the start, so that changing an answer cannot leave
// anything stale behind.
const Job = (() => {
  // Frames are what the screen shows, one at a time. `key` ties an entry to its frame.
  const procedureFrame = (purpose, condition, procedure, head) => ({
    kind: 'procedure',
    key: `${purpose}/${condition ?? ''}/${procedure ?? ''}`,
    purpose, // "set-up", "undo" or "do"
    condition,
    procedure, // null: the tree names no procedure; the condition itself is asked for
    due: head?.due ?? head?.node ?? null, // the node it is for, or null at an end
    before: head?.node && !head.takedown ? head : null, // what can be left out with it
  });
  const nodeFrame = (head) => ({ kind: 'node', key: `node/${head.node.name}`, ...head });

  // What was worked out after an entry, as long as it comes after the same entries. A long job is
  // gone through at every answer, and all ways through a large tree cannot be gone through so often.
  const notes = new WeakMap();
  const starts = new WeakMap();

  function replay(tree, job) {
    const symptom = tree.symptoms.find((one) => one.name === job.symptom);
    const held = []; // conditions set, in the order they were set
    const passed = [];
    const findings = [];
    const facts = Facts.none();
    const end = { kind: null, node: null, undone: [], left: [] };
    let lastCheck = null;
    let open = null; // once a check could not be done: all its outcomes, see Places
    let aside = null; // a check taken out of its turn
    let note = starts.get(symptom) ?? starts.set(symptom, {}).get(symptom);
    let queue = [{ node: tree.nodes.get(symptom.start) }];
    const head = () => aside ?? queue[0];
    const view = () => ({ symptom, passed, held, findings, facts, end, open, places: open?.places ?? [] });

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
    const undoFrame = (name, at) => procedureFrame('undo', name, tree.conditions.get(name).undo, at);

    // What has to be set up or undone before the head of the queue, one piece at a time.
    function before(at) {
      const { node } = at;
      at.tried ??= new Set();
      at.arrived ??= [...held];
      for (const [names, isNeed] of [[node.needs, true], [node.sets, false]]) {
        for (const name of names) {
          if (held.includes(name) || at.tried.has(name)) continue;
          const blocker = toUndo((other) => tree.exclude(name, other));
          if (blocker) return undoFrame(blocker, at);
          if (isNeed) return procedureFrame('set-up', name, tree.conditions.get(name)?.setUp ?? null, at);
        }
      }
      return null;
    }

    function due() {
      // What was left out is taken up by itself once another check has answered it.
      const known = open && !aside && [...open.skipped].find((name) => Facts.elsewhere(facts, tree.nodes.get(name), job.model));
      if (known) aside = { node: tree.nodes.get(known), known };
      if (aside) return before(aside) ?? nodeFrame(aside);
      if (open && !queue.length && !settle()) return { kind: 'open', key: 'open' };
      if (!queue.length) {
        const name = toUndo((one) => !end.left.includes(one));
        return name ? undoFrame(name, null) : { kind: 'record', key: 'record' };
      }
      const [at] = queue;
      if (at.takedown) {
        const name = toUndo((one) => at.takedown.includes(one));
        if (name) return undoFrame(name, at);
        queue.shift();
        return due();
      }
      if (at.procedure) return procedureFrame('do', null, at.procedure.name, at);
      if (at.node) return before(at) ?? nodeFrame(at);
      return { kind: at.end, key: `end/${at.end}` };
    }

    // With outcomes open, where the job may stand: looked for once after each entry.
    function places() {
      note.places ??= Places.find(tree, job.model, open, facts.known);
      return note.places;
    }

    // With outcomes open: on to the first place that is due, or to where all ways have met.
    // Gives false where none is left.
    function settle() {
      open.places = places();
      const [first] = open.places;
      const met = open.places.length === 1 && !first.onRequest && first.state !== 'undone';
      if (met) {
        lastCheck = first.via;
        open = null;
        queue = [first.node ? { node: first.node } : { end: 'lost' }];
        return true;
      }
      const next = ['ask', 'do'].map((state) => open.places.find((one) => one.state === state)).find(Boolean);
      if (next) {
        const { node, procedure, onRequest, due: onward } = next;
        queue = [node ? { node, onRequest } : { procedure, due: onward }];
      }
      return Boolean(next);
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
      } else if (frame.purpose === 'do') {
        queue.shift();
        open?.[entry.undone ? 'undone' : 'done'].add(frame.procedure);
        if (entry.undone) return;
        // A procedure that sets up or undoes a condition does so wherever it is done.
        for (const [name, condition] of tree.conditions) if (condition.undo === frame.procedure) drop(name);
        for (const [name, condition] of tree.conditions) if (condition.setUp === frame.procedure) set(name);
      } else if (frame.purpose === 'undo') {
        if (!head()) end.undone.push(frame.condition);
        drop(frame.condition);
      } else {
        head().tried.add(frame.condition);
        set(frame.condition);
      }
    }

    // A check that cannot be done: all its outcomes are open.
    function skip({ node, retest }, wasAside) {
      facts.known.delete(node.name);
      if (retest) queue = [{ end: 'untested' }];
      else if (!wasAside) {
        open ??= Places.open(node);
        open.skipped.add(node.name);
        queue = [];
      }
    }

    function takeNode(frame, entry) {
      const { node, retest, onRequest, arrived } = frame;
      const wasAside = aside !== null;
      if (!wasAside) queue.shift();
      else if (open) queue = [];
      aside = null;
      switch (node.kind) {
        case 'check':
        case 'reading': {
          if (entry.skip) return skip(frame, wasAside);
          const outcome = node.outcomes[entry.answer];
          Facts.answer(facts, node, entry);
          passed.at(-1).mended = facts.told.at(-1).mended;
          if (retest) findings.at(-1).retest = outcome.normal;
          if (open) Places.answered(open, tree, node);
          if (open) return;
          lastCheck = node;
          if (retest && outcome.normal && tree.after === 'finish') queue = [{ end: 'finish' }];
          else follow(outcome.exit, retest && outcome.exit.target === node.name);
          return;
        }
        case 'step':
          open?.[entry.undone ? 'undone' : 'done'].add(node.name);
          if (entry.undone) return;
          node.clears.forEach(drop);
          node.sets.forEach(set);
          Facts.step(facts, node);
          if (onRequest || open) return;
          if (node.exit) follow(node.exit);
          else queue = [{ end: 'lost' }];
          return;
        case 'fault': {
          findings.push({ node, repaired: !entry.left, retest: null, unsure: Boolean(frame.unsure) });
          const again = node.retest ? tree.nodes.get(node.retest) : lastCheck;
          if (entry.left) {
            queue = [{ end: 'left' }];
            return;
          }
          Facts.remedy(facts, node);
          if (again) queue = [{ takedown: notForRetest(arrived, again), due: again }, { node: again, retest: true }];
          else queue = [{ end: 'finish' }];
          return;
        }
        default: // a hand-off or a clean end
          end.kind = node.kind;
          end.node = node;
          queue = [];
      }
    }

    // Nothing more can be asked: one of the ends is gone on with, or the job ends as it stands.
    function takeOpen(entry) {
      const chosen = open.places.find(({ node, state }) => state === 'end' && node.name === entry.choose);
      if (chosen) {
        lastCheck = chosen.via;
        queue = [{ node: chosen.node, unsure: true }];
      } else {
        end.kind = 'open';
        end.possible = Suspects.possible(tree, job, view()).faults;
      }
      open = null;
    }

    // The frame that an entry answers, or null: what is left out, kept from before or only put
    // right comes without the set-up that is due first.
    function answeredBy(entry, frame) {
      if (entry.key === frame.key) return frame.kind === 'record' ? null : frame;
      const at = frame.before;
      if (!at || entry.key !== `node/${at.node.name}`) return null;
      const without = entry.kept || entry.amended || (entry.skip && at.node.outcomes.length) || (entry.undone && open);
      return without ? nodeFrame(at) : null;
    }

    // The answer to what is due, where another check has asked the same. A retest is asked, and
    // what was taken up out of its turn, or is to be changed.
    function elsewhere(frame) {
      const one = frame.before ?? frame;
      return one.node?.outcomes.length && !one.retest && (!aside || aside.known) && !job.taken && !job.standing && !job.asIs && job.anew !== `node/${one.node.name}`
        ? Facts.elsewhere(facts, one.node, job.model) : null;
    }

    let at = 0;
    let frame = due();
    for (;;) {
      const entry = job.entries[at] ?? Change.keep(job, frame, held) ?? elsewhere(frame);
      if (!entry) break;
      job.entries[at] = entry;
      if (notes.get(entry)?.after !== note) notes.set(entry, { after: note });
      note = notes.get(entry);
      if (entry.key === 'standing') {
        held.splice(0, held.length, ...entry.held);
        passed.push({ kind: 'standing', key: 'standing', at, entry });
      } else if (entry.key === 'turn' && open && tree.nodes.get(entry.to)?.outcomes.length) {
        aside = { node: tree.nodes.get(entry.to) };
        passed.push({ kind: 'turn', key: 'turn', at, entry });
      } else {
        const taken = answeredBy(entry, frame);
        if (!taken) break; // saved by another edition of this page: what does not fit is dropped
        passed.push({ ...taken, at, entry, heldBefore: [...held] });
        if (taken.kind === 'procedure') takeProcedure(taken, entry);
        else if (taken.kind === 'node') takeNode(taken, entry);
        else if (taken.kind === 'open') takeOpen(entry);
        else {
          end.kind = taken.kind;
          queue = [];
        }
      }
      at += 1;
      frame = due();
    }
    job.entries.length = at;
    if (job.standing) frame = { kind: 'standing', key: 'standing', held: job.standing };
    else if (Change.amends(job, frame)) frame = { ...nodeFrame(frame.before), amends: true };
    return { ...view(), frame };
  }

  const fresh = (symptom, model) => ({
    symptom, model, entries: [], taken: null, pool: [], told: null, standing: null, draft: null, read: [], head: {},
  });

  return { replay, fresh };
})();
