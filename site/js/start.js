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
    const chosen = { symptom: wish ?? null, model: tree.models.length === 1 ? tree.models[0] : null };
    const root = make('section', { class: 'card start' });

    function show(focus) {
      const symptoms = tree.symptoms.filter((one) => tree.isFor(one, chosen.model));
      if (symptoms.length === 1) chosen.symptom = symptoms[0].name;
      const symptom = symptoms.find((one) => one.name === chosen.symptom) ?? null;
      const complete = symptom && (!tree.models.length || chosen.model);
      const about = inside('tree-about', '.about');
      const missing = symptom ? 'model' : tree.models.length && !chosen.model ? 'both' : 'symptom';
      root.replaceChildren(
        make('h2', { tabindex: '-1' }, t('start')),
        ...[
          about.length > 0 && make('div', { class: 'how', dir: 'auto' }, about),
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
