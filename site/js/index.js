// The search of the start page: a tree stays where it holds every word typed.
const form = document.getElementById('search');
const field = document.getElementById('words');
const count = document.getElementById('count');
const plain = (text) => text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();
const trees = [...document.querySelectorAll('.tree')].map((element) => ({
  element,
  text: plain(element.textContent),
  details: element.querySelector('details'),
  finds: [...element.querySelectorAll('[data-finds]')].map((item) => ({ item, text: plain(item.textContent) })),
}));

function search() {
  const words = plain(field.value).split(/\s+/).filter(Boolean);
  let shown = 0;
  for (const { element, text, details, finds } of trees) {
    const met = words.every((word) => text.includes(word));
    element.hidden = !met;
    shown += met;
    let inFaults = false;
    for (const { item, text: own } of finds) {
      const found = met && words.some((word) => own.includes(word));
      item.classList.toggle('found', found);
      inFaults ||= found && details.contains(item);
    }
    details.open = inFaults;
  }
  count.textContent = words.length ? `${shown} of ${trees.length} ${trees.length === 1 ? 'tree' : 'trees'}` : '';
}

form.addEventListener('submit', (event) => event.preventDefault());
field.addEventListener('input', search);
form.hidden = trees.length === 0;
search();
