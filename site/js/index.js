// The start page: a tree stays where it holds every word typed and is for the machine chosen.
const LANGUAGE = 'treewright:language'; // as on the pages of the trees
const by = (id) => document.getElementById(id);
const field = by('words');
const machine = by('machine');
const language = by('language');
const { plain } = Words;
const trees = [...document.querySelectorAll('.tree')].map((element) => ({
  element,
  texts: [...element.querySelectorAll('.text')],
  text: plain(element.textContent),
  finds: [...element.querySelectorAll('[data-finds]')].map((item) => ({ item, text: plain(item.textContent) })),
}));

function search() {
  const words = Words.parts(field.value);
  let shown = 0;
  for (const { element, text, texts, finds } of trees) {
    const met = (!machine.value || element.dataset.machine === machine.value) && words.every((word) => text.includes(word));
    element.hidden = !met;
    shown += met;
    for (const { item, text: own } of finds) item.classList.toggle('found', met && words.some((word) => own.includes(word)));
    for (const one of texts) {
      const details = one.querySelector('details');
      details.open = details.querySelector('.found') !== null;
    }
  }
  by('count').textContent = words.length || machine.value ? t('index.count', { shown, all: trees.length }) : '';
}

// A tree that is not written in the language chosen is shown in its own.
function speak(chosen) {
  Words.use(chosen);
  language.value = Words.language();
  for (const { texts } of trees) {
    const own = texts.find((one) => one.lang.split('-')[0] === chosen) ?? texts[0];
    for (const one of texts) one.hidden = one !== own;
  }
  for (const word of document.querySelectorAll('[data-t]')) {
    word.textContent = t(word.dataset.t);
    if (word.lang) word.lang = Words.language();
  }
  document.title = t('index');
  search();
}

by('search').addEventListener('submit', (event) => event.preventDefault());
field.addEventListener('input', search);
machine.addEventListener('change', search);
language.addEventListener('change', () => {
  Store.write(LANGUAGE, language.value);
  speak(language.value);
});
// Another page has changed it.
window.addEventListener('storage', ({ key, newValue }) => {
  if (key === LANGUAGE && newValue) speak(newValue);
});
by('search').hidden = trees.length === 0;
speak(Store.read(LANGUAGE) ?? document.documentElement.lang);
Update.watch((load) => {
  by('newer').hidden = false;
  by('newer').querySelector('button').onclick = load;
});
