// The tree as the page's data gives it, and the questions that have one answer for every job:
// which answer a reading gives, which hazards apply, what a symptom can reach.
const Tree = (() => {
  const GRAVITY = ['danger', 'warning', 'caution', 'notice'];
  const byName = (list) => new Map(list.map((one) => [one.name, one]));
  const isFor = (one, model) => !one.models.length || !model || one.models.includes(model);

  function open(data) {
    const nodes = byName(data.nodes);
    const procedures = byName(data.procedures);
    const conditions = byName(data.conditions);
    const hazards = byName(data.hazards);

    // Two conditions exclude each other where either says so.
    function exclude(a, b) {
      const says = (one, other) => conditions.get(one)?.excludes.includes(other) ?? false;
      return says(a, b) || says(b, a);
    }

    // The node an exit leads to on this model, or null.
    function target(exit, model) {
      const own = exit.byModel.find(([name]) => name === model);
      return nodes.get(own ? own[1] : exit.target) ?? null;
    }

    // Hazards of a node or procedure while `held` is set, the gravest first.
    function hazardsOf(one, held, model) {
      const names = new Set(one ? one.hazards : []);
      for (const hazard of data.hazards) {
        if (hazard.whilst.some((name) => held.includes(name))) names.add(hazard.name);
      }
      return [...names]
        .map((name) => hazards.get(name))
        .filter((hazard) => isFor(hazard, model))
        .sort((a, b) => GRAVITY.indexOf(a.signal) - GRAVITY.indexOf(b.signal));
    }

    // Everything that a job with this symptom and model may meet: nodes and procedures.
    function reach(symptom, model) {
      const seen = new Set();
      const met = [];
      const waiting = [nodes.get(symptom.start)];
      const alsoDo = (name) => waiting.push(nodes.get(name) ?? procedures.get(name));
      const alsoHave = (name) => {
        const condition = conditions.get(name);
        if (condition?.setUp) alsoDo(condition.setUp);
        if (condition?.undo) alsoDo(condition.undo);
      };
      const alsoFollow = (exit) => {
        exit.does.forEach(alsoDo);
        waiting.push(target(exit, model));
      };
      while (waiting.length) {
        const one = waiting.pop();
        if (!one || seen.has(one) || !isFor(one, model)) continue;
        seen.add(one);
        met.push(one);
        if (!one.kind) continue;
        [...one.needs, ...one.sets].forEach(alsoHave);
        one.outcomes.forEach((outcome) => alsoFollow(outcome.exit));
        if (one.exit) alsoFollow(one.exit);
        if (one.retest) alsoDo(one.retest);
      }
      return met;
    }

    // The faults that answers lead to from a node, no remedy being done on the way.
    const found = new Map();
    function behind(name, model) {
      const key = `${model ?? ''}/${name}`;
      if (found.has(key)) return found.get(key);
      const seen = new Set();
      const waiting = [nodes.get(name)];
      while (waiting.length) {
        const one = waiting.pop();
        if (!one || seen.has(one) || !isFor(one, model)) continue;
        seen.add(one);
        one.outcomes.forEach((outcome) => waiting.push(target(outcome.exit, model)));
        if (one.exit) waiting.push(target(one.exit, model));
      }
      found.set(key, data.nodes.filter((one) => one.kind === 'fault' && seen.has(one)));
      return found.get(key);
    }

    return {
      ...data, nodes, procedures, conditions, hazards, exclude, target, hazardsOf, reach, behind, isFor,
    };
  }

  function inRange(value, [low, lowIncluded, high, highIncluded]) {
    if (low !== null) {
      const order = Exact.compare(value, Exact.read(low));
      if (order < 0 || (order === 0 && !lowIncluded)) return false;
    }
    if (high !== null) {
      const order = Exact.compare(value, Exact.read(high));
      if (order > 0 || (order === 0 && !highIncluded)) return false;
    }
    return true;
  }

  const rangesOf = (test, model) =>
    (test.ranges.find(([key]) => key === model) ?? test.ranges.find(([key]) => key === '*'))?.[1];

  // Whether an outcome's limit holds for what was read: a Map of place (or "") to number.
  function holds(test, values, model) {
    const ranges = rangesOf(test, model);
    if (test.kind !== 'limit' || !ranges) return false;
    const inside = (value) => ranges.some((range) => inRange(value, range));
    const all = [...values];
    switch (test.quantifier) {
      case 'one':
      case 'all':
        return all.every(([, value]) => inside(value));
      case 'any':
        return all.some(([, value]) => inside(value));
      case 'none':
        return !all.some(([, value]) => inside(value));
      case 'only':
        return all.every(([place, value]) => inside(value) === (place === test.place));
      default:
        return false;
    }
  }

  // The index of the outcome that a reading gives, or -1 where the tree has none for it.
  function judge(node, values, model) {
    const direct = node.outcomes.findIndex((outcome) => holds(outcome.test, values, model));
    if (direct >= 0) return direct;
    return node.outcomes.findIndex((outcome) => outcome.test.kind === 'otherwise');
  }

  const unitOf = (node, symbol) => {
    const { factor, offset } = node.units.find((one) => one.symbol === symbol);
    return { factor: Exact.read(factor), offset: Exact.read(offset) };
  };

  // A typed number in the reading's own unit.
  function inOwnUnit(node, value, symbol) {
    const { factor, offset } = unitOf(node, symbol);
    return Exact.add(Exact.times(value, factor), offset);
  }

  // The same of numbers as they were typed; -1 also where one cannot be read here.
  function judgeTyped(node, values, model) {
    const read = new Map();
    for (const { place, text, unit } of values) {
      const { value } = Exact.typed(text);
      if (!value || !node.units.some((one) => one.symbol === unit)) return -1;
      read.set(place, inOwnUnit(node, value, unit));
    }
    const places = node.places.length ? node.places : [''];
    return read.size === places.length && places.every((one) => read.has(one)) ? judge(node, read, model) : -1;
  }

  // The limit of this model that lies nearest to a value (in the reading's own unit), and how far
  // the value lies above it, both in the unit asked for; null where there is none.
  function nearest(node, value, model, symbol) {
    const { factor, offset } = unitOf(node, symbol);
    let found = null;
    for (const { test } of node.outcomes) {
      for (const limit of (rangesOf(test, model) ?? []).flatMap(([low, , high]) => [low, high])) {
        if (limit === null) continue;
        const above = Exact.minus(value, Exact.read(limit));
        if (!found || Exact.compare(Exact.size(above), Exact.size(found.above)) < 0) {
          found = { limit: Exact.read(limit), above };
        }
      }
    }
    return found && {
      limit: Exact.over(Exact.minus(found.limit, offset), factor),
      above: Exact.over(found.above, factor),
    };
  }

  // The limit behind an answer on this model, in words.
  function detail(outcome, model) {
    if (!outcome.details.length) return outcome.detail;
    const texts = new Map(outcome.details);
    return texts.get(model) ?? texts.get('*') ?? '';
  }

  return { open, judge, judgeTyped, inOwnUnit, nearest, detail };
})();
