// The form for a reading: one number a place, typed in any of the reading's units, judged
// while it is typed.
const Reading = (() => {
  const { make, button } = Page;

  // What a place is called in the language that is read.
  const named = (node, place) => node.placeTitles[node.places.indexOf(place)] ?? place;

  // The spec that holds for a model.
  const specsFor = (node, model) => {
    const named = node.specs.filter((spec) => spec.models.includes(model));
    return named.length ? named : node.specs.filter((spec) => !spec.models.length);
  };

  function limits(node, model) {
    const specs = specsFor(node, model);
    return specs.map((spec) =>
      make('p', { class: 'spec' }, `${t('reading.limit')} `, make('strong', {}, spec.text), spec.also ? ` · ${spec.also}` : ''));
  }

  // "50 psi (3.447 bar)": what was typed, and in the reading's own unit where that differs.
  function asRead(node, value) {
    const typed = Exact.typed(value.text).value;
    const own = node.units[0].symbol;
    const written = `${value.text.trim()} ${value.unit}`;
    if (value.unit === own || !typed) return written;
    const shown = Exact.shown(Tree.inOwnUnit(node, typed, value.unit));
    return `${written} (${shown.exact ? '' : `${t('reading.about')} `}${shown.text} ${own})`;
  }

  // "0.4 bar below the limit of 8 bar": the nearest limit of this model, in the unit typed.
  function distance(node, value, unit, model) {
    const found = Tree.nearest(node, value, model, unit);
    if (!found) return '';
    const order = Exact.compare(found.above, [0n, 1n]);
    const written = (number) => {
      const shown = Exact.shown(number);
      return shown.exact ? shown.text : `${t('reading.about')} ${shown.text}`;
    };
    return t(`reading.${['below', 'at', 'above'][order + 1]}`, {
      far: written(Exact.size(found.above)), limit: written(found.limit), unit,
    });
  }

  // A keypad for numbers has no sign on some phones.
  const belowZero = (node) => node.units.some((unit) => unit.offset !== '0')
    || node.outcomes.some(({ test }) => test.ranges.some(([, ranges]) => ranges.flat().some((end) => `${end}`.startsWith('-'))));

  function form(job, node, draft, take, keep) {
    const places = node.places.length ? node.places : [''];
    const detail = (outcome) => Tree.detail(outcome, job.model);
    const verdict = make('p', { class: 'verdict', role: 'status' });
    const far = make('ul', { class: 'far' });
    const go = make('button', { type: 'submit', class: 'on' }, t('reading.type'));
    const answers = make('ul', { class: 'limits' }, node.outcomes.map((outcome) => make('li', {},
      make('span', { dir: 'auto' }, outcome.label),
      detail(outcome) ? make('span', { class: 'detail' }, detail(outcome)) : null)));
    const rows = places.map((place) => {
      const before = draft?.values?.find((one) => one.place === place);
      const input = make('input', {
        type: 'text', inputmode: 'decimal', autocomplete: 'off', maxlength: 24, enterkeyhint: 'go',
        'aria-label': place ? t('reading.reading-at', { place: named(node, place) }) : t('reading.reading'), 'aria-describedby': 'verdict', input: judge,
      });
      input.value = before?.text ?? '';
      const unit = make('select', { 'aria-label': place ? t('reading.unit-at', { place: named(node, place) }) : t('reading.unit'), change: () => alike(unit) },
        node.units.map((one) => make('option', { value: one.symbol }, one.symbol)));
      if (node.units.some((one) => one.symbol === before?.unit)) unit.value = before.unit;
      const row = make('div', { class: 'typed' }, place ? make('span', { class: 'place', dir: 'auto' }, named(node, place)) : null,
        belowZero(node) ? make('button', { type: 'button', class: 'sign', 'aria-label': t('reading.sign'), click: () => {
          input.value = /^\s*[-\u2212]/.test(input.value) ? input.value.replace(/^\s*./, '') : `-${input.value.trim()}`;
          judge();
          input.focus();
        } }, '±') : null, input, unit);
      return { place, input, unit, row };
    });
    verdict.id = 'verdict';
    let found = -1;

    const values = () => rows.map(({ place, input, unit }) => ({ place, text: input.value, unit: unit.value }));

    // A unit chosen at one place holds for all that are still empty.
    function alike(chosen) {
      for (const { input, unit } of rows) if (!input.value) unit.value = chosen.value;
      judge();
    }

    function judge() {
      found = -1;
      const read = new Map();
      const problems = [];
      for (const { place, input, unit } of rows) {
        const typed = Exact.typed(input.value);
        input.toggleAttribute('aria-invalid', Boolean(typed.problem));
        if (typed.problem) problems.push(typed.problem);
        if (typed.value) read.set(place, Tree.inOwnUnit(node, typed.value, unit.value));
      }
      const ready = read.size === places.length;
      if (ready) found = Tree.judge(node, read, job.model);
      const outcome = node.outcomes[found];
      const lost = ready && !outcome;
      [...answers.children].forEach((item, index) => item.classList.toggle('met', index === found));
      if (outcome) {
        const words = values().map((value) => (value.place ? `${named(node, value.place)} ` : '') + asRead(node, value)).join(', ');
        verdict.textContent = `${words}: ${outcome.label}${detail(outcome) ? ` (${detail(outcome)})` : ''}`;
      } else {
        verdict.textContent = problems[0]
          ?? (lost ? t('reading.no-answer') : '');
      }
      far.replaceChildren(...rows.filter(({ place }) => read.has(place)).map(({ place, unit }) => {
        const text = distance(node, read.get(place), unit.value, job.model);
        return make('li', {}, place && text ? `${named(node, place)}: ${text}` : text);
      }));
      verdict.classList.toggle('wrong', Boolean(problems[0]) || lost);
      go.disabled = !outcome;
      go.textContent = outcome ? t('reading.go-on', { answer: outcome.label }) : t('reading.type');
      keep(values());
    }

    const view = make('form', { class: 'reading', novalidate: true, submit: (event) => {
      event.preventDefault();
      if (found >= 0) take({ answer: found, values: values() });
    } }, rows.map((one) => one.row), verdict, far, go, answers,
    make('details', { class: 'by-eye' }, make('summary', {}, t('reading.by-eye')),
      node.outcomes.map((outcome, index) =>
        button(outcome.label, () => take({ answer: index, values: [] }), { detail: detail(outcome) }))));
    judge();
    return view;
  }

  return { form, limits, named, asRead };
})();
