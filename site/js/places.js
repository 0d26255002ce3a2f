// Where a job may stand once a check could not be done: all its answers are open, so there are
// several ways at once. They are found by going through the tree with what is known; ways that
// meet are one.
const Places = (() => {
  // skipped: the checks that could not be done. done, undone: the steps and procedures that were
  // done, and those left undone, since the outcomes were open.
  const open = (root) => ({
    root, skipped: new Set(), done: new Set(), undone: new Set(), places: [],
  });

  // A place: its node, the check that led there (`via`), and its state: "ask" for a check or
  // reading that is due, "do" for a step or procedure, "undone" where that was left, "end", "lost".
  function find(tree, model, { root, skipped, done, undone }, known) {
    const places = [];
    const named = new Set();
    const seen = new Set();
    const path = [];
    const todo = [{ node: root, does: [], via: null, depth: 0 }];

    function stop(place) {
      const key = `${place.state}/${(place.procedure ?? place.node)?.name}`;
      if (!named.has(key)) places.push(place);
      named.add(key);
    }

    while (todo.length) {
      const { node, does, via, depth } = todo.pop();
      path.length = depth;
      const first = does.find((name) => !done.has(name));
      if (first) {
        const step = tree.nodes.get(first) ?? null;
        stop({
          node: step, procedure: step ? null : tree.procedures.get(first), due: node, onRequest: true,
          via, state: undone.has(first) ? 'undone' : 'do',
        });
        continue;
      }
      if (!node) {
        stop({ node, via, state: 'lost' });
        continue;
      }
      if (seen.has(node)) {
        // Round and back to what was answered: it is asked again.
        if (known.has(node.name) && path.includes(node)) stop({ node, via, state: 'ask' });
        continue;
      }
      seen.add(node);
      path.push(node);
      const on = (exit, check) =>
        todo.push({ node: tree.target(exit, model), does: exit.does, via: check, depth: path.length });
      if (node.kind === 'step') {
        if (!done.has(node.name)) stop({ node, via, state: undone.has(node.name) ? 'undone' : 'do' });
        else if (node.exit) on(node.exit, via);
        else stop({ node: null, via, state: 'lost' });
      } else if (!node.outcomes.length) {
        stop({ node, via, state: 'end' });
      } else if (known.has(node.name)) {
        on(node.outcomes[known.get(node.name).answer].exit, node);
      } else if (skipped.has(node.name)) {
        // The good answer's way first. One that only leads back to the check itself opens nothing.
        [...node.outcomes].sort((a, b) => b.normal - a.normal).reverse()
          .filter(({ exit }) => tree.target(exit, model) !== node)
          .forEach(({ exit }) => on(exit, node));
      } else {
        stop({ node, via, state: 'ask' });
      }
    }
    return places;
  }

  // A check is answered anew: what was done in answer to it before may have to be done again.
  function answered(state, tree, node) {
    state.skipped.delete(node.name);
    node.outcomes.forEach(({ exit }) => exit.does.forEach((name) => state.done.delete(name)));
    for (const name of state.done) {
      if (tree.nodes.get(name)?.doubts?.includes(node.name)) state.done.delete(name);
    }
  }

  return { open, find, answered };
})();
