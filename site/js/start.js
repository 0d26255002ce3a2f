// The first screen: what is wrong, which model, and what to have ready for it.
const Start = (() => {
  const { make, inside, phrases, button } = Page;

  function choices(name, legend, list, chosen, choose) {
    return make('fieldset', {}, make('legend', {}, legend), list.map(({ value, words, about }) => {
      const input = make('input', { type: 'radio', name, value, change: () => choose(value) });
      input.checked = value === chosen;
      return make('label', { class: 'choice' }, input, make('span', { dir: 'auto' }, words, about));
    }));
  }

  // Of many symptoms, those that hold every word typed, or a fault behind them does.
  const MANY = 5;
  function finder(tree, symptoms, chosen, root) {
    if (symptoms.length < MANY) return [null, () => {}];
    const texts = symptoms.map((one) => Words.plain([Record.words(`symptom-${one.name}`), Record.words(`symptom-${one.name}`, '.about'), ...tree.behind(one.start, chosen.model).map(({ name }) => Record.words(`step-${name}`))].join(' ')));
    const count = make('p', { role: 'status' });
    const input = make('input', { type: 'search', autocomplete: 'off', maxlength: 200, input: search });
    function search() {
      chosen.words = input.value;
      const words = Words.parts(input.value);
      const labels = [...root.querySelectorAll('label:has([name=symptom])')];
      const met = labels.filter((label, at) => {
        label.hidden = !label.control.checked && !words.every((word) => texts[at].includes(word));
        return !label.hidden;
      });
      count.textContent = words.length ? `${met.length} / ${labels.length}` : '';
    }
    input.value = chosen.words;
    return [make('div', { class: 'head' }, make('label', {}, make('span', {}, t('start.find')), input), count), search];
  }

  // What a job may take, each with the numbers of the steps that ask for it.
  function ready(tree, symptom, model) {
    const met = tree.reach(symptom, model);
    const order = new Map([...tree.nodes.values(), ...tree.procedures.values()].map((one, at) => [one, at]));
    met.sort((a, b) => order.get(a) - order.get(b));
    const collect = (pick) => {
      const found = new Map();
      for (const one of met) for (const text of pick(one)) found.set(text, [...(found.get(text) ?? []), one.number]);
      return [...found];
    };
    const lists = [
      [t('start.licence'), collect((one) => (one.licence ? [one.licence] : []))],
      [t('start.tools'), collect((one) => one.tools)],
      [t('start.parts'), collect((one) => one.parts)],
    ].filter(([, found]) => found.length);
    if (!lists.length) return null;
    return make('section', { class: 'ready' }, make('h2', {}, t('start.ready')), make('dl', {}, lists.map(([label, found]) =>
      make('div', {}, make('dt', {}, label), found.map(([text, numbers]) =>
        make('dd', { dir: 'auto' }, text, make('span', { class: 'detail' }, ` ${numbers.join(', ')}`)))))));
  }

  function screen(tree, wish, begin, jobs) {
    const chosen = { symptom: wish ?? null, model: tree.models.length === 1 ? tree.models[0] : null, words: '' };
    const root = make('section', { class: 'card start' });

    function show(focus) {
      const symptoms = tree.symptoms.filter((one) => tree.isFor(one, chosen.model));
      if (symptoms.length === 1) chosen.symptom = symptoms[0].name;
      const symptom = symptoms.find((one) => one.name === chosen.symptom) ?? null;
      const complete = symptom && (!tree.models.length || chosen.model);
      const about = inside('tree-about', '.about');
      const missing = symptom ? 'model' : tree.models.length && !chosen.model ? 'both' : 'symptom';
      const [field, search] = finder(tree, symptoms, chosen, root);
      root.replaceChildren(
        make('h2', { tabindex: '-1' }, t('start')),
        ...[
          about.length > 0 && make('div', { class: 'how', dir: 'auto' }, about),
          field,
          choices('symptom', t('start.symptom'), symptoms.map((one) => ({
            value: one.name,
            words: make('strong', {}, phrases(`symptom-${one.name}`, '.title')),
            about: make('span', { class: 'about' }, phrases(`symptom-${one.name}`, '.about')),
          })), chosen.symptom, (value) => { chosen.symptom = value; show(`symptom ${value}`); }),
          tree.models.length > 1 && choices('model', t('start.model'), tree.models.map((value) => ({ value, words: value, about: '' })),
            chosen.model, (value) => { chosen.model = value; show(`model ${value}`); }),
          complete && ready(tree, symptom, chosen.model),
          complete
            ? button(t('start.start'), () => begin(symptom.name, chosen.model), { accent: true })
            : make('p', { class: 'missing' }, t(`start.choose-${missing}`)),
        ].filter(Boolean));
      search();
      if (focus) {
        const [name, value] = focus.split(/ (.*)/);
        [...root.querySelectorAll(`input[name=${name}]`)].find((input) => input.value === value)?.focus();
      }
    }

    show();
    return make('div', { class: 'columns' }, root, jobs);
  }

  return { screen };
})();
