// Elements: made here, or cloned from the document that holds the whole tree. Text goes in
// as text nodes only.
const Page = (() => {
  // make('p', {class: 'note'}, 'text', otherElement); a function value is an event handler.
  function make(tag, props = {}, ...children) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(props)) {
      if (typeof value === 'function') element.addEventListener(name, value);
      else if (value === true) element.setAttribute(name, '');
      else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
    }
    if (props.dir === 'auto') element.lang = home().dataset.tongue; // words of the tree's author
    element.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== ''));
    return element;
  }

  // The document in the language that is read; its anchors start with `ahead`.
  const home = () => document.querySelector('.document.read');
  // The first is in the tree's own language.
  const first = document.querySelector('.document');
  const piece = (anchor, within = home()) => document.getElementById(within.dataset.ahead + anchor);
  const find = (anchor, selector) => piece(anchor)?.querySelector(selector) ?? null;

  // The children of a piece of the document, or an empty list where it has none.
  function inside(anchor, selector) {
    const found = find(anchor, selector);
    return found ? [...found.cloneNode(true).childNodes] : [];
  }

  // The same where only phrases may stand, in a label, say: blocks become rows of text.
  function phrases(anchor, selector) {
    return inside(anchor, selector).flatMap((node) => {
      if (node.nodeType !== 1 || !/^(P|UL|OL|PRE|BLOCKQUOTE|H\d|HR)$/.test(node.tagName)) return [node];
      return [make('span', { class: 'row' }, node.tagName === 'P' ? [...node.childNodes] : node.textContent)];
    });
  }

  // A copy of a piece. The page's own words in it are said in the language that is chosen.
  function clone(found) {
    const made = found.cloneNode(true);
    for (const word of made.querySelectorAll('[data-t]')) {
      word.textContent = t(word.dataset.t);
      word.lang = Words.language();
    }
    return made;
  }

  // A copy of a whole piece, or null.
  function copy(anchor, selector) {
    const found = find(anchor, selector);
    return found ? clone(found) : null;
  }

  // A button as wide as the card. `accent` is the way on. The second tap of a double tap is not
  // meant for what has come up in the same place.
  function button(text, press, { accent = false, digit = null, detail = '', className = '' } = {}) {
    return make(
      'button',
      { type: 'button', class: `${accent ? 'on' : ''} ${className}`.trim() || null, click: (event) => event.detail < 2 && press(event), 'data-digit': digit },
      digit ? make('span', { class: 'digit', 'aria-hidden': 'true' }, digit) : null,
      make('span', { class: 'words', dir: 'auto' }, text, detail ? make('span', { class: 'detail' }, detail) : null),
    );
  }

  return { make, home, first, piece, find, inside, phrases, clone, copy, button };
})();
