// The page's own words, in the language that is chosen: t('trail'), t('taken', { count: 2 }).
// WORDS comes from site/words, one list a language in the order of KEYS.
const Words = (() => {
  const all = Object.fromEntries(Object.entries(WORDS).map(([language, list]) =>
    [language, new Map(KEYS.map((key, at) => [key, list[at]]))]));
  let chosen = 'en';

  function say(key, values = {}) {
    const found = all[chosen].get(key);
    const form = typeof found === 'string'
      ? found
      : found[new Intl.PluralRules(chosen).select(values.count)] ?? found.other;
    return form.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
  }

  // A language that has no catalogue is spoken to in English.
  function use(language) {
    const primary = language.toLowerCase().split('-')[0];
    chosen = primary in WORDS ? primary : 'en';
    document.documentElement.lang = chosen;
  }

  // Words to search by: small letters without marks on them.
  const plain = (text) => text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();
  const parts = (text) => plain(text).split(/\s+/).filter(Boolean);

  // How a language is called in itself.
  const name = (language) => all[language]?.get('language') ?? language;

  return { say, use, name, plain, parts, language: () => chosen };
})();
const t = Words.say;
