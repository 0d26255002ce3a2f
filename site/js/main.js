// Puts the parts together: the saved job, the screen, the trail, keys and the chart.
(() => {
  const { make, piece, clone, button } = Page;
  const data = JSON.parse(document.querySelector('script.tree').textContent);
  const tree = Tree.open(data);
  const walk = document.getElementById('walk');
  const said = document.getElementById('said');
  const SHELF = `treewright:${tree.name}:${tree.fingerprint}`;
  const GLOVES = 'treewright:gloves';

  // Storage may be forbidden, full or hold anything: a job then lives as long as the page.
  const stored = (key) => {
    try {
      return localStorage.getItem(key);
    } catch {
      return null;
    }
  };
  const store = (key, value) => {
    try {
      if (value === null) localStorage.removeItem(key);
      else localStorage.setItem(key, value);
    } catch {
      // nothing to be done, and nothing lost but the next reload
    }
  };

  function saved() {
    try {
      const found = JSON.parse(stored(SHELF));
      if (!found) return null;
      const job = { ...Job.fresh(found.symptom, found.model), ...found };
      Suspects.weigh(tree, job, Job.replay(tree, job)); // throws where it does not fit this tree
      return job;
    } catch {
      return null;
    }
  }

  let job = saved();
  const save = () => store(SHELF, job && JSON.stringify(job));

  const act = {
    save,
    take(entry) {
      const { frame } = Job.replay(tree, job);
      Change.take(tree, job, { key: frame.key, ...entry });
      render();
    },
    turn(to) {
      Change.take(tree, job, { key: 'turn', to });
      render();
    },
    read(names) {
      job.read.push(...names);
      render();
    },
    keep(draft) {
      job.draft = { key: Job.replay(tree, job).frame.key, ...draft };
      save();
    },
    restart: () => ask(t('new.ask'), t('new.text'), t('new.yes'), () => {
      job = null;
      render();
    }),
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

  function ask(title, text, yes, agree) {
    const dialog = make('dialog', { class: 'ask', 'aria-label': title, close: () => dialog.remove() },
      make('h2', {}, title), make('p', {}, text),
      button(yes, () => { dialog.close(); agree(); }, { accent: true }),
      button(t('new.no'), () => dialog.close()));
    document.body.append(dialog);
    dialog.showModal();
  }

  function begin(symptom, model) {
    job = Job.fresh(symptom, model);
    job.head.date = localDate(new Date());
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

  function trail(view) {
    const rows = view.passed.filter((frame) => frame.kind !== 'turn').map((frame) => {
      const [number, title, said] = Screens.line(tree, frame);
      const answer = frame.entry.kept ? `${said} (${t('line.kept')})` : said;
      // What could not be done is taken up where the job stands now, as long as that decides.
      const later = frame.entry.skip && view.open?.skipped.has(frame.node.name);
      return make('li', {}, make('button', {
        type: 'button',
        'aria-label': later ? t('open.take', { number }) : t('trail.change-this', { number, title, answer }),
        click: () => (later ? act.turn(frame.node.name) : back(frame.at)),
      },
      make('span', { class: 'number' }, number),
      make('span', { class: 'words', dir: 'auto' }, title, answer ? make('strong', { dir: 'auto' }, answer) : null),
      make('span', { class: 'change' }, t(later ? 'trail.take-up' : 'trail.change'))));
    });
    return make('section', { class: 'trail' },
      make('h2', {}, t('trail')),
      make('p', { class: 'symptom', dir: 'auto' }, Record.words(`symptom-${view.symptom.name}`), job.model ? ` · ${job.model}` : ''),
      make('ol', {}, rows));
  }

  function back(at) {
    Change.takeBack(tree, job, at);
    render();
  }

  // Back from the first step: to the choice of symptom, with nothing to lose.
  function leaveJob() {
    job = null;
    render();
  }

  function putBack() {
    if (!job?.taken) return null;
    const count = job.taken.entries.filter((entry) => entry.key !== 'standing').length;
    return make('p', { class: 'taken' }, t('taken', { count }), ' ',
      button(t('taken.put-back'), () => { Change.putBack(job); render(); }, { className: 'small' }));
  }

  // What a changed answer has left of what came after it.
  function told() {
    if (!job.told) return null;
    const { kept, lost, aside } = job.told;
    return make('p', { class: 'told', role: 'status' }, [
      kept.length ? t('told.kept', { numbers: kept.join(', ') }) : '',
      ...lost.map(([number, by]) => t('told.lost', { number, by })),
      aside.length ? t('told.aside', { numbers: aside.join(', ') }) : '',
    ].filter(Boolean).join(' '));
  }

  // Folded on a phone, open beside the card where there is room for it; then as it was left.
  let unfolded = window.matchMedia('(min-width: 60rem)').matches;

  function tools() {
    return make('nav', { class: 'tools', 'aria-label': t('tools') },
      document.getElementById('chart-view') ? button(t('tools.chart'), showChart) : null,
      button(t('tools.steps'), () => { document.documentElement.classList.add('reading'); leave.focus(); }),
      make('button', { type: 'button', 'aria-pressed': String(document.documentElement.classList.contains('gloves')), click: gloves }, t('tools.gloves')),
      job ? button(t('tools.new'), act.restart) : null);
  }

  function gloves(event) {
    const on = document.documentElement.classList.toggle('gloves');
    event.currentTarget.setAttribute('aria-pressed', String(on));
    store(GLOVES, on ? 'on' : null);
  }

  let view = null;
  function render({ quiet = false } = {}) {
    if (!job) {
      view = null;
      const wish = /^#symptom-(.+)$/.exec(location.hash)?.[1];
      walk.replaceChildren(Start.screen(tree, tree.symptoms.some((one) => one.name === wish) ? wish : null, begin), tools());
    } else {
      view = Job.replay(tree, job);
      const screen = Screens.screen(tree, view, job, act);
      walk.replaceChildren(...[
        ...progress(view),
        make('div', { class: 'columns' },
          make('div', {}, ...[putBack(), told(), Open.reminder(tree, view), screen,
            make('nav', { class: 'back' }, button(t('back'), () => (job.entries.length ? back(job.entries.length - 1) : leaveJob())))].filter(Boolean)),
          make('aside', {}, ...[
            standing(view),
            Open.panel(tree, job, view, unfolded, (is) => { unfolded = is; }),
            view.passed.length ? trail(view) : null,
          ].filter(Boolean))),
        tools(),
      ]);
    }
    document.documentElement.classList.toggle('job', Boolean(job));
    save();
    markChart();
    const heading = walk.querySelector('h2');
    if (!quiet) {
      window.scrollTo(0, 0);
      heading.focus({ preventScroll: true });
    }
    const step = [heading, walk.querySelector('.question')].map((one) => one?.textContent.trim()).filter(Boolean).join(': ');
    const panels = walk.querySelectorAll('.card div.hazard').length;
    said.textContent = panels ? `${step} ${t('said.hazards', { count: panels })}` : step;
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
      make('div', { class: 'bar' }, make('p', {}, t('look.only')), button(t('chart.close'), () => dialog.close())), shown);
    document.body.append(dialog);
    dialog.showModal();
  }

  document.addEventListener('click', (event) => {
    const link = event.target.closest?.('a');
    const address = link?.getAttribute('href') ?? link?.getAttributeNS('http://www.w3.org/1999/xlink', 'href') ?? '';
    if (!address.startsWith('#') || document.documentElement.classList.contains('reading')) return;
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
    document.documentElement.classList.remove('reading');
    walk.querySelector('h2').focus();
  }, { accent: true, className: 'leave' });
  document.getElementById('whole').prepend(leave);

  if (stored(GLOVES)) document.documentElement.classList.add('gloves');
  walk.hidden = false;
  render({ quiet: true });
  document.documentElement.classList.add('scripted');
  const asked = /^#((?:step|procedure)-.+)$/.exec(location.hash);
  if (asked) look(asked[1]);
})();
