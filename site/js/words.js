// The page's own words, in the language that is chosen: t('trail'), t('taken', { count: 2 }).
// WORDS comes from site/words, one catalogue a language, the same keys in each.
const Words = (() => {
  let chosen = 'en';

  function say(key, values = {}) {
    const found = WORDS[chosen][key];
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

  return { say, use, language: () => chosen };
})();
const t = Words.say;
