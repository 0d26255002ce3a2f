// Exact numbers: fractions of big integers, so that a reading at the limit is judged at the
// limit. A number is a pair [numerator, denominator], lowest terms, denominator above zero.
const Exact = (() => {
  function common(a, b) {
    while (b) [a, b] = [b, a % b];
    return a < 0n ? -a : a;
  }

  function fraction(over, under) {
    const sign = under < 0n ? -1n : 1n;
    const by = common(over, under) * sign;
    return [over / by, under / by];
  }

  // A number as the tree's data writes it: "8", "-3" or "43/5".
  function read(text) {
    const [over, under = '1'] = text.split('/');
    return fraction(BigInt(over), BigInt(under));
  }

  const add = (a, b) => fraction(a[0] * b[1] + b[0] * a[1], a[1] * b[1]);
  const times = (a, b) => fraction(a[0] * b[0], a[1] * b[1]);
  const minus = (a, b) => add(a, [-b[0], b[1]]);
  const over = (a, b) => fraction(a[0] * b[1], a[1] * b[0]);
  const size = (a) => [a[0] < 0n ? -a[0] : a[0], a[1]];

  function compare(a, b) {
    const left = a[0] * b[1];
    const right = b[0] * a[1];
    return left < right ? -1 : left > right ? 1 : 0;
  }

  // A number as a technician types it: 8.6 or 8,6 or 3/8 or 1 1/2.
  // Gives {value} or {problem}; {} where nothing is typed yet.
  function typed(text) {
    const bare = text.trim().replace(/[\u2212\u2013]/g, '-').replace(/\u2044/g, '/');
    if (!bare) return {};
    const found = /^([+-]?)(?:(\d+)|(\d*)([.,])(\d+)|(?:(\d+)[ -])?(\d+)\/(\d+))$/.exec(bare);
    if (!found) return { problem: t('number.not') };
    const [, sign, whole, before, mark, after, wholes, over, under] = found;
    let value;
    if (whole !== undefined) {
      value = [BigInt(whole), 1n];
    } else if (mark !== undefined) {
      if (mark === ',' && after.length === 3 && /^[1-9]\d{0,2}$/.test(before)) {
        return {
          problem: t('number.two-ways', {
            text: bare, decimal: `${before}.${after}`, whole: `${before}${after}`,
          }),
        };
      }
      value = fraction(BigInt(before + after), 10n ** BigInt(after.length));
    } else {
      if (BigInt(under) === 0n) return { problem: t('number.zero') };
      value = fraction(BigInt(wholes ?? 0) * BigInt(under) + BigInt(over), BigInt(under));
    }
    return { value: sign === '-' ? [-value[0], value[1]] : value };
  }

  // A decimal for the eye, with at most `places` digits after the point. `exact` says whether
  // the decimal is the number itself.
  function shown(value, places = 3) {
    const scale = 10n ** BigInt(places);
    const sign = value[0] < 0n ? '-' : '';
    const over = (value[0] < 0n ? -value[0] : value[0]) * scale;
    const rounded = (2n * over + value[1]) / (2n * value[1]);
    const digits = rounded.toString().padStart(places + 1, '0');
    const cut = digits.length - places;
    const text = `${digits.slice(0, cut)}.${digits.slice(cut)}`.replace(/\.?0+$/, '');
    return { text: (rounded ? sign : '') + text, exact: over % value[1] === 0n };
  }

  return { read, add, minus, times, over, size, compare, typed, shown };
})();
