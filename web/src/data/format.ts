// Numbers and words as people read them. No-break spaces keep a value and its unit on one line.

const kUnits: Record<string, string> = { deg: '°', 'N mm': 'N·mm', nmm: 'N·mm', ohm: 'Ω', pieces: '' };

export function unitText(unit: string): string {
  return kUnits[unit] ?? unit;
}

/// Three significant digits, thousands kept whole: 0.987, 12.2, 1,811.
export function number(value: number | null | undefined, digits = 3): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return '–';
  const size = Math.abs(value);
  if (size !== 0 && size < 1e-9) return '0';
  const whole = size >= 10 ** (digits - 1);
  const text = whole ? Math.round(value).toLocaleString('en') : String(Number(value.toPrecision(digits)));
  return text.replace('-', '−');
}

export function amount(value: number | null | undefined, unit: string, digits = 3): string {
  const u = unitText(unit);
  if (u === '') return number(value, digits);
  return number(value, digits) + (u === '°' ? u : '\u00a0' + u);
}

/// A margin: two decimals below ten; the core caps at 9.99.
export function margin(ratio: number | null | undefined): string {
  if (ratio === null || ratio === undefined) return '–';
  if (ratio >= 9.985) return '≥\u00a010';
  // Cut, not rounded, just below 1: a margin that falls short must not read as one that does not.
  return ratio < 1 && ratio > 0.99 ? '0.99' : ratio.toFixed(2);
}

export function percent(share: number | null | undefined): string {
  if (share === null || share === undefined) return '–';
  if (share > 0.995 && share < 1) return '> 99\u00a0%';
  return `${Math.round(share * 100)}\u00a0%`;
}

/// "boom_lift" -> "boom lift": ids and keys in running text. A trailing unit of a key goes away, it stands beside the value.
export function words(id: string): string {
  return id.replaceAll('_', ' ');
}

const kSuffix = /_(mm_s|rad_s|mm|deg|rpm|g|s|n|nmm|ma|mah|v|ohm|p|mpa|min)$/;
export function label(key: string): string {
  const text = words(key.replace(kSuffix, ''));
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/// A sentence of the program for people: names of functions and keys as words, a unit that a key ends with left out.
export function humane(text: string): string {
  return text.replace(/\b[a-z][a-z0-9]*(?:_[a-z0-9]+)+\b/g, (name) => words(name.replace(kSuffix, '')));
}

export function sentence(text: string): string {
  const t = text.trim();
  return t === '' ? t : t.charAt(0).toUpperCase() + t.slice(1);
}

export function count(n: number, one: string, many = one + 's'): string {
  return `${n.toLocaleString('en')}\u00a0${n === 1 ? one : many}`;
}

/// A hint that names a command or a flag for the terminal helps nobody on this page.
export function hintText(p: { hint?: string }): string {
  const hint = p.hint ?? '';
  return /kitwright \w+|(^|\s)--\w/.test(hint) ? '' : sentence(hint);
}

/// Message and hint as two sentences; keys stay as the file spells them.
export function told(p: { message: string; hint?: string }): string {
  const hint = hintText(p);
  const message = p.message.trim();
  return hint === '' ? message : `${message}${/[.!?:]$/.test(message) ? '' : '.'} ${hint}`;
}

/// Screen pixels per 1/16 of the root's font size: 1 but on screens where everything is drawn larger.
export function zoom(): number {
  return (parseFloat(getComputedStyle(document.documentElement).fontSize) || 16) / 16;
}
