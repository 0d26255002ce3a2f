// The screens around the steps: the record of a job, the fields at its head, the jobs that the
// device keeps, and the question what to do with a job of another edition.
const Report = (() => {
  const { make, button } = Page;

  function fields(job, changed) {
    return make('div', { class: 'head' }, Record.HEAD.map((key) => {
      const input = make(key === 'note' ? 'textarea' : 'input', {
        type: key === 'note' ? null : key === 'date' ? 'date' : 'text',
        autocomplete: 'off', maxlength: key === 'date' ? null : 1000,
        input: () => {
          job.head[key] = input.value;
          changed();
        },
      });
      input.value = job.head[key] ?? '';
      return make('label', {}, make('span', {}, t(`record.${key}`)), input);
    }));
  }

  // The last screen of a job.
  function screen(tree, view, job, act, card) {
    const made = () => Record.make(tree, job, view);
    const table = make('dl', { class: 'record' });
    const fill = () => table.replaceChildren(...Record.lines(made()).map(([label, values]) =>
      make('div', {}, make('dt', { dir: 'auto' }, label), values.map(([value, spent]) =>
        make('dd', { dir: 'auto' }, value, spent ? make('span', { class: 'spent' }, spent) : null)))));
    const said = make('p', { class: 'said', role: 'status' });
    fill();
    return card(
      fields(job, () => { act.save(); fill(); }),
      table,
      make('p', { class: 'mark' }, tree.mark),
      make('div', { class: 'answers' },
        button(t('record.print'), () => window.print()),
        button(t('record.copy'), () => act.copy(Record.text(made()), said)),
        button(t('record.save'), () => act.download(made())),
        said,
        button(t('tools.new'), act.aside, { accent: true })));
  }

  // Beside every step: the head of the record, and a copy of the job to take elsewhere.
  function details(tree, view, job, act) {
    return make('details', { class: 'job-details' }, make('summary', {}, t('details')),
      fields(job, act.save),
      button(t('record.save'), () => act.download(Record.make(tree, job, view))));
  }

  const named = (tree, job) => [job.head.serial || t('jobs.no-serial'), job.model, Record.words(`symptom-${job.symptom}`) || job.symptom]
    .filter(Boolean).join(' · ');

  // The jobs kept here, to go on with or to delete; and a file to load one from.
  function jobs(tree, list, act) {
    const said = make('p', { class: 'said', role: 'status', id: 'loaded' });
    const file = make('input', { type: 'file', accept: '.json,application/json', change: async () => {
      const [chosen] = file.files;
      if (chosen) act.load(chosen.size < 5e6 ? await chosen.text() : '', said);
      file.value = '';
    } });
    const items = list.map((job) => {
      const name = named(tree, job);
      const notes = [job.last, job.head.date, job.fingerprint === tree.fingerprint ? '' : t('jobs.edition')].filter(Boolean).join(' · ');
      return make('li', { 'data-job': job.id },
        button(`${t('jobs.go-on')}: ${name}`, () => act.resume(job.id), { detail: notes }),
        make('button', { type: 'button', class: 'small', 'aria-label': t('jobs.delete-this', { job: name }), click: () => act.forget(job, name) }, t('jobs.delete')));
    });
    return make('section', { class: 'jobs' },
      make('h2', {}, t('jobs')),
      items.length ? make('ul', {}, items) : make('p', {}, t('jobs.none')),
      make('label', { class: 'load' }, make('span', {}, t('jobs.load')), file), said);
  }

  // What to do with a job of another edition.
  function edition(tree, job, act) {
    const kept = Edition.fitting(tree, job);
    const known = tree.symptoms.some((one) => one.name === job.symptom);
    return make('section', { class: 'card edition' },
      make('h2', { tabindex: '-1' }, t('edition')),
      make('p', { class: 'reason' }, t('edition.text')),
      make('dl', { class: 'facts' },
        make('div', {}, make('dd', {}, t('edition.before', { mark: job.mark }))),
        make('div', {}, make('dd', {}, t('edition.now', { mark: tree.mark })))),
      make('p', { class: 'question' }, t('edition.fits', { kept: kept.length, total: job.entries.length })),
      kept.length ? button(t('edition.take'), () => act.carryOver(kept), { accent: true, digit: '1' }) : null,
      known ? button(t('edition.afresh'), () => act.carryOver([]), { digit: '2' }) : null,
      button(t('edition.aside'), act.aside, { digit: '3' }));
  }

  return { screen, details, jobs, edition };
})();
