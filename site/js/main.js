// Puts the parts together: the languages, the jobs that are kept, the screen, the trail, keys.
(() => {
  const { make, piece, clone, button } = Page;
  const documents = [...document.querySelectorAll('.document')];
  const trees = [...document.querySelectorAll('script.tree')].map((one) => Tree.open(JSON.parse(one.textContent)));
  const walk = document.getElementById('walk');
  const whole = document.getElementById('whole');
  const said = document.getElementById('said');
  const root = document.documentElement;
  const GLOVES = 'treewright:gloves';
  const LANGUAGE = 'treewright:language';
  let tree = trees[0]; // in the language that is read; what it decides is the same in each
  let job = null;
  let view = null;
  let newer = null; // brings in a newer edition of the page

  // ---- languages -------------------------------------------------------------------------

  const primary = (language) => language.toLowerCase().split('-')[0];
  const tongues = documents.map((one) => primary(one.dataset.tongue));
  const offered = [...new Set([...tongues, ...Object.keys(WORDS)])].filter((one) => one in WORDS || tongues.includes(one));

  function speak(language) {
    const at = Math.max(0, tongues.indexOf(language));
    Words.use(language);
    documents.forEach((one, index) => one.classList.toggle('read', index === at));
    tree = trees[at];
    const top = document.querySelector('header.top');
    top.lang = documents[at].dataset.tongue;
    top.querySelector('.machine').textContent = tree.machine;
    top.querySelector('h1').replaceChildren(...Page.inside('top', '.tree-title'));
    document.title = top.querySelector('h1').textContent;
    for (const word of document.querySelectorAll('main > section [data-t], footer [data-t]')) {
      word.textContent = t(word.dataset.t);
      word.lang = Words.language();
    }
    leave.querySelector('.words').textContent = t('steps.leave');
  }

  function languages() {
    if (offered.length < 2) return null;
    const { name } = Words;
    const list = make('select', { change: () => {
      Store.write(LANGUAGE, list.value);
      speak(list.value);
      render();
    } }, offered.map((one) => make('option', { value: one, lang: one },
      tongues.includes(one) ? name(one) : t('language.steps', { language: name(one), other: name(tongues[0]) }))));
    list.value = chosenLanguage();
    return make('label', { class: 'language' }, make('span', {}, t('tools.language')), list);
  }

  function chosenLanguage() {
    const wish = Store.read(LANGUAGE);
    return offered.includes(wish) ? wish : tongues[0];
  }

  // ---- jobs ------------------------------------------------------------------------------

  function save() {
    if (job) Jobs.save(tree, job);
    tellTrouble();
  }

  // A job that was saved by another hand or with another edition may not fit: then it is asked
  // about, and never goes on by itself.
  function fits(one) {
    try {
      if (one.fingerprint !== tree.fingerprint) return false;
      const copy = { ...one, entries: [...one.entries], pool: [] };
      const met = Job.replay(tree, copy);
      Suspects.weigh(tree, copy, met);
      return met.passed.length >= one.entries.length;
    } catch {
      return false;
    }
  }

  // What is noted with every entry: the time it took, and what another edition is held against.
  const noted = (entry) => ({ ...entry, ...Edition.notes(trees[0], entry), seconds: Clock.lap(job.clock) });

  function open(id) {
    job = Jobs.get(tree, id);
    if (job && fits(job)) Clock.run(job.clock);
    Jobs.setCurrent(tree, job?.id ?? null);
  }

  const act = {
    save,
    take(entry) {
      const { frame } = view;
      Change.take(tree, job, noted({ key: frame.key, ...(frame.amends && { amended: true }), ...entry }));
      render();
    },
    turn(to) {
      Change.take(tree, job, noted({ key: 'turn', to }));
      render();
    },
    anew() {
      job.anew = view.frame.key;
      render();
    },
    read(names) {
      job.read.push(...names);
      render();
    },
    keep(draft) {
      job.draft = { key: view.frame.key, ...draft };
      save();
    },
    // Puts the job aside; it stays in the list.
    aside() {
      if (job) {
        Clock.stop(job.clock);
        save();
      }
      job = null;
      Jobs.setCurrent(tree, null);
      render();
    },
    resume(id) {
      open(id);
      render();
    },
    forget: (one, name) => ask(t('jobs.delete-ask'), t('jobs.delete-text', { job: name }), t('jobs.delete-yes'), t('jobs.delete-no'), () => {
      Jobs.remove(tree, one.id);
      render();
    }),
    load(text, told) {
      const read = Record.read(tree, text);
      if (read.job) {
        Jobs.save(tree, read.job);
        render();
        told = document.getElementById('loaded');
      }
      told.textContent = read.job ? t('load.loaded') : t(`load.${read.problem}`, { tree: read.tree });
      tellTrouble();
    },
    carryOver(kept) {
      Edition.carryOver(tree, job, kept);
      Clock.run(job.clock);
      render();
    },
    async copy(text, told) {
      const area = make('textarea', { class: 'copied', readonly: true, 'aria-label': t('record.as-text') });
      area.value = text;
      told.replaceChildren(area);
      area.select();
      let copied = false;
      try {
        await navigator.clipboard.writeText(text);
        copied = true;
      } catch {
        area.focus();
        area.select();
        copied = document.execCommand('copy');
      }
      told.replaceChildren(...(copied ? [t('record.copied')] : [t('record.copy-here'), area]));
    },
    download(record) {
      const url = URL.createObjectURL(new Blob([`${JSON.stringify(record, null, 2)}\n`], { type: 'application/json' }));
      const link = make('a', { href: url, download: `${tree.name}-record.json` });
      link.click();
      setTimeout(() => URL.revokeObjectURL(url), 1000);
    },
  };

  function ask(title, text, yes, no, agree) {
    const dialog = make('dialog', { class: 'ask', 'aria-label': title, close: () => dialog.remove() },
      make('h2', {}, title), make('p', {}, text),
      button(no, () => dialog.close(), { accent: true }),
      button(yes, () => { dialog.close(); agree(); }));
    document.body.append(dialog);
    dialog.showModal();
  }

  function begin(symptom, model) {
    job = Jobs.begin(tree, symptom, model);
    job.head.date = localDate(new Date());
    Jobs.setCurrent(tree, job.id);
    render();
  }

  const localDate = (now) => [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, '0')).join('-');

  // Where the job stands among the stages.
  function progress(view) {
    const { frame } = view;
    const it = frame.node ?? frame.due ?? null;
    const names = [...tree.stages.filter((one) => tree.isFor(one, job.model)), { name: '*finding', title: t('progress.finding') }, { name: '*end', title: t('progress.end') }];
    const now = frame.kind === 'record' || (frame.kind === 'procedure' && !frame.due)
      ? '*end'
      : it?.kind === 'fault' ? '*finding' : !it || ['handoff', 'done'].includes(it.kind) ? '*end' : it.stage;
    const at = names.findIndex((one) => one.name === now);
    return [
      make('ol', { class: 'stages', 'aria-label': t('progress') }, names.map((one, index) =>
        make('li', {
          class: index < at ? 'past' : index === at ? 'now' : null,
          'aria-current': index === at ? 'step' : null,
        }, make('span', { dir: 'auto' }, one.title)))),
      make('p', { class: 'stage-now', 'aria-hidden': 'true', dir: 'auto' }, names[at]?.title ?? ''),
    ];
  }

  function standing(view) {
    if (!view.held.length || view.frame.kind === 'standing') return null;
    return make('div', { class: 'held' }, make('p', {}, t('held')),
      make('ul', {}, view.held.map((name) => make('li', { dir: 'auto' }, tree.conditions.get(name)?.title ?? name))));
  }

  // Of a long way only the last entries are shown, until all are asked for.
  const LAST = 20;
  let wholeWay = false;
  function trail(view) {
    const frames = view.passed.filter((frame) => frame.kind !== 'turn');
    const rows = frames.slice(wholeWay ? 0 : -LAST).map((frame) => {
      const [number, title, said] = Screens.line(tree, frame);
      const { kept, by } = frame.entry;
      const other = tree.nodes.get(by);
      const answer = kept ? `${said} (${other ? t('line.same', other) : t('line.kept')})` : said;
      // What could not be done is taken up where the job stands now, as long as that decides.
      const later = frame.entry.skip && view.open?.skipped.has(frame.node.name);
      return make('li', {}, make('button', {
        type: 'button',
        click: () => (later ? act.turn(frame.node.name) : back(frame.at)),
      },
      make('span', { class: 'number' }, number), ' ',
      make('span', { class: 'words', dir: 'auto' }, title, ' ', answer ? make('strong', { dir: 'auto' }, answer) : null), ' ',
      make('span', { class: 'change' }, t(later ? 'trail.take-up' : 'trail.change'))));
    });
    return make('section', { class: 'trail' },
      make('h2', {}, t('trail')),
      make('p', { class: 'symptom', dir: 'auto' }, Record.words(`symptom-${view.symptom.name}`), job.model ? ` · ${job.model}` : ''),
      frames.length > rows.length
        ? button(t('trail.all', { count: frames.length }), () => { wholeWay = true; render({ quiet: true }); }, { className: 'small' })
        : null,
      make('ol', {}, rows));
  }

  function back(at) {
    Change.takeBack(tree, job, at);
    render();
  }

  // Back from the first step: to the choice of symptom, with nothing to lose.
  function leaveJob() {
    Jobs.remove(tree, job.id);
    job = null;
    Jobs.setCurrent(tree, null);
    render();
  }

  // ---- around the screen -----------------------------------------------------------------

  const trouble = make('p', { class: 'trouble', role: 'status' });
  function tellTrouble() {
    trouble.hidden = !Store.trouble();
    trouble.textContent = Store.trouble() ? t(`store.${Store.trouble()}`) : '';
  }

  function update() {
    return newer && make('p', { class: 'taken' }, `${t('update')} `, button(t('update.load'), newer, { className: 'small' }));
  }

  function clock() {
    const shown = make('span', { class: 'spent' });
    const tell = () => {
      Clock.settle(job.clock);
      const stopped = job.clock.since === null ? ` · ${t('clock.stopped')}` : '';
      shown.textContent = t('clock', { minutes: Math.floor(job.clock.total / 60000) }) + stopped;
    };
    const turn = button('', () => {
      (job.clock.since === null ? Clock.run : Clock.stop)(job.clock);
      save();
      name();
    }, { className: 'small' });
    const name = () => {
      tell();
      turn.querySelector('.words').textContent = t(job.clock.since === null ? 'clock.run' : 'clock.pause');
    };
    name();
    clearInterval(ticking);
    ticking = setInterval(() => job && tell(), 20000);
    return make('div', { class: 'clock' }, shown, turn);
  }
  let ticking = 0;

  function putBack() {
    if (!job?.taken) return null;
    const count = job.taken.entries.filter((entry) => entry.key !== 'standing').length;
    return make('p', { class: 'taken' }, t('taken', { count }), ' ',
      button(t('taken.put-back'), () => { Change.putBack(job); render(); }, { className: 'small' }));
  }

  // What a changed answer has left of what came after it.
  function told() {
    if (!job.told) return null;
    const { kept, same, lost, aside } = job.told;
    return make('p', { class: 'told', role: 'status' }, [
      kept.length ? t('told.kept', { numbers: kept.join(', ') }) : '',
      ...same.map(([number, by]) => `${number}: ${t('line.same', { number: by })}.`),
      ...lost.map(([number, by]) => t('told.lost', { number, by })),
      aside.length ? t('told.aside', { numbers: aside.join(', ') }) : '',
    ].filter(Boolean).join(' '));
  }

  // Folded on a phone, open beside the card where there is room for it; then as it was left.
  let unfolded = window.matchMedia('(min-width: 60rem)').matches;

  function tools() {
    return make('nav', { class: 'tools', 'aria-label': t('tools') },
      document.getElementById('chart-view') ? button(t('tools.chart'), showChart) : null,
      button(t('tools.steps'), () => { reading(true); leave.focus(); }),
      make('button', { type: 'button', 'aria-pressed': String(root.classList.contains('gloves')), click: gloves }, t('tools.gloves')),
      job ? button(t('tools.jobs'), act.aside) : null,
      languages());
  }

  // All steps as one document, or one step at a time.
  function reading(on) {
    root.classList.toggle('reading', on);
    whole.hidden = !on;
    walk.hidden = on;
  }

  function gloves(event) {
    const on = root.classList.toggle('gloves');
    event.currentTarget.setAttribute('aria-pressed', String(on));
    if (on) Store.write(GLOVES, 'on');
    else Store.remove(GLOVES);
  }

  function render({ quiet = false } = {}) {
    view = job && fits(job) ? Job.replay(tree, job) : null;
    if (!job) {
      const wish = /^#symptom-(.+)$/.exec(location.hash)?.[1];
      const symptom = tree.symptoms.some((one) => one.name === wish) ? wish : null;
      walk.replaceChildren(...[update(), trouble, Start.screen(tree, symptom, begin, Report.jobs(tree, Jobs.all(tree), act)), tools()].filter(Boolean));
    } else if (!view) {
      walk.replaceChildren(trouble, Report.edition(tree, job, act), tools());
    } else {
      const screen = Screens.screen(tree, view, job, act);
      const it = view.frame.node ?? view.frame.due;
      job.last = view.frame.kind === 'record' ? t('jobs.ended') : it ? `${it.number} ${Record.words(`step-${it.name}`)}` : '';
      walk.replaceChildren(...[
        update(),
        trouble,
        ...progress(view),
        Hazards.bar(Screens.hazards(tree, view, job), job),
        make('div', { class: 'columns' },
          make('div', {}, ...[putBack(), told(), Open.reminder(tree, view), screen,
            make('nav', { class: 'back', 'aria-label': t('back') }, button(t('back'), () => (job.entries.length ? back(job.entries.length - 1) : leaveJob())))].filter(Boolean)),
          make('aside', {}, ...[
            clock(),
            standing(view),
            Open.panel(tree, job, view, unfolded, (is) => { unfolded = is; }),
            view.frame.kind === 'record' ? null : Report.details(tree, view, job, act),
            view.passed.length ? trail(view) : null,
          ].filter(Boolean))),
        tools(),
      ].filter(Boolean));
    }
    root.classList.toggle('job', Boolean(job));
    Hazards.settle();
    if (view) save();
    else tellTrouble();
    markChart();
    const heading = walk.querySelector('h2');
    if (!quiet) {
      window.scrollTo(0, 0);
      heading.focus({ preventScroll: true });
    }
    const step = [heading, walk.querySelector('.question')].map((one) => one?.textContent.trim()).filter(Boolean).join(': ');
    const panels = walk.querySelectorAll('.card div.hazard').length;
    const lines = [...walk.querySelectorAll('.lines .hazard')].map((one) => [...one.children].map((part) => part.textContent).join(': '));
    said.textContent = [step, panels ? t('said.hazards', { count: panels }) : '', ...lines].filter(Boolean).join('. ');
  }

  // The chart, with the way taken.
  const chart = document.getElementById('chart-view');
  const symbol = (name) => document.getElementById(`node-${name}`);
  function markChart() {
    if (!chart) return;
    chart.querySelectorAll('.taken, .here').forEach((one) => one.classList.remove('taken', 'here'));
    if (!view) return;
    for (const { node, entry } of view.passed) {
      if (!node) continue;
      symbol(node.name)?.classList.add('taken');
      const which = entry.skip ? '' : `[data-answer="${entry.answer ?? 0}"]`;
      chart.querySelectorAll(`[data-from="${node.name}"]${which}`).forEach((one) => one.classList.add('taken'));
    }
    for (const { node } of view.places) symbol(node?.name)?.classList.add('taken');
    symbol((view.frame.node ?? view.frame.due)?.name)?.classList.add('here');
  }

  function showChart() {
    const home = document.getElementById('chart-home');
    const svg = chart.querySelector('svg');
    const last = view && (view.frame.node ?? view.frame.due ?? view.passed.findLast((frame) => frame.node)?.node);
    let scale = 1.2; // CSS pixels for one unit of the drawing
    const draw = (factor) => {
      scale = Math.min(6, Math.max(0.1, scale * factor));
      svg.style.width = `${svg.viewBox.baseVal.width * scale}px`;
      if (last) symbol(last.name)?.scrollIntoView({ block: 'center', inline: 'center' });
    };
    const dialog = make('dialog', { class: 'wide', 'aria-label': t('chart'), close: () => {
      svg.style.width = '';
      home.append(chart);
      dialog.remove();
    } },
      Hazards.copy(),
      make('div', { class: 'bar' }, button(t('chart.close'), () => dialog.close()), button(t('chart.smaller'), () => draw(1 / 1.5)), button(t('chart.larger'), () => draw(1.5))), chart);
    document.body.append(dialog);
    dialog.showModal();
    draw(1);
  }

  // A look at any step, from the chart or from a link in the author's words.
  function look(anchor) {
    const found = piece(anchor) ?? document.getElementById(anchor);
    if (!found) return;
    const shown = clone(found);
    shown.lang = found.closest('.document').lang;
    shown.removeAttribute('id');
    const dialog = make('dialog', { class: 'wide look', 'aria-label': t('look'), close: () => dialog.remove() },
      Hazards.copy(),
      make('div', { class: 'bar' }, make('p', {}, t('look.only')), button(t('chart.close'), () => dialog.close())), shown);
    document.body.append(dialog);
    dialog.showModal();
  }

  document.addEventListener('click', (event) => {
    const link = event.target.closest?.('a');
    const address = link?.getAttribute('href') ?? link?.getAttributeNS('http://www.w3.org/1999/xlink', 'href') ?? '';
    if (!address.startsWith('#') || root.classList.contains('reading')) return;
    event.preventDefault();
    event.target.closest('dialog.look')?.close();
    look(address.slice(1));
  });

  // The digits choose an answer, as long as nothing is being typed.
  document.addEventListener('keydown', (event) => {
    if (event.repeat || event.ctrlKey || event.altKey || event.metaKey || !/^[1-9]$/.test(event.key)) return;
    if (event.target.closest('input:not([type=checkbox]), select, textarea, dialog')) return;
    const chosen = walk.querySelector(`.card button[data-digit="${event.key}"]`);
    if (!chosen) return;
    event.preventDefault();
    chosen.click();
  });

  const leave = button(t('steps.leave'), () => {
    reading(false);
    walk.querySelector('h2').focus();
  }, { accent: true, className: 'leave' });
  whole.prepend(leave);

  const style = document.createElement('style');
  style.textContent = STYLE;
  document.head.append(style);
  if (Store.read(GLOVES)) root.classList.add('gloves');
  speak(chosenLanguage());
  // Another page has changed it.
  window.addEventListener('storage', ({ key }) => {
    if (key !== LANGUAGE) return;
    speak(chosenLanguage());
    render({ quiet: true });
  });
  job = Jobs.current(tree);
  reading(false);
  render({ quiet: true });
  root.classList.add('scripted');
  const asked = /^#((?:step|procedure)-.+)$/.exec(location.hash);
  if (asked) look(asked[1]);
  Update.watch((load) => {
    newer = load;
    if (!walk.contains(document.activeElement?.closest('input, textarea, select'))) render({ quiet: true });
  });
})();
