// What the device keeps. Storage may be blocked, full or hold anything: what cannot be kept
// there lives as long as the page, and trouble() says which it is.
const Store = (() => {
  const page = new Map();
  let trouble = null; // 'blocked', 'full' or null
  let shelf = null;

  const isFull = (error) => error?.name === 'QuotaExceededError';
  try {
    shelf = localStorage;
    shelf.setItem('treewright', '');
    shelf.removeItem('treewright');
  } catch (error) {
    trouble = isFull(error) && shelf.length ? 'full' : 'blocked';
    if (trouble === 'blocked') shelf = null;
  }

  const read = (key) => page.get(key) ?? shelf?.getItem(key) ?? null;

  function remove(key) {
    page.delete(key);
    shelf?.removeItem(key);
  }

  function write(key, value) {
    try {
      if (!shelf) throw null;
      shelf.setItem(key, value);
      page.delete(key);
      trouble = null;
    } catch (error) {
      page.set(key, value);
      trouble = isFull(error) ? 'full' : 'blocked';
    }
  }

  // All keys that start so.
  function keys(start) {
    const all = new Set(page.keys());
    for (let at = 0; at < (shelf?.length ?? 0); at += 1) all.add(shelf.key(at));
    return [...all].filter((key) => key.startsWith(start));
  }

  return { read, write, remove, keys, trouble: () => trouble };
})();
