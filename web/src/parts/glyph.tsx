// Small signs drawn here so that no icon set is shipped. Signs carry state together with words, never alone.
const kPaths: Record<string, string> = {
  meets: 'M3 8.5 6.5 12 13 4.5',
  short: 'M4 4l8 8M12 4l-8 8',
  cross: 'M4.5 4.5l7 7M11.5 4.5l-7 7',
  warning: 'M8 2.5 14 13H2zM8 6.5v3.2M8 11.4v.4',
  note: 'M8 2.2a5.8 5.8 0 1 0 .01 0M8 7.2v4M8 4.6v.4',
  down: 'M4 6l4 4 4-4',
  right: 'M6 4l4 4-4 4',
  left: 'M10 4 6 8l4 4',
  plus: 'M8 3v10M3 8h10',
  minus: 'M3 8h10',
  undo: 'M6 3 3 6l3 3M3 6h6.5a3.5 3.5 0 0 1 0 7H6',
  redo: 'M10 3l3 3-3 3M13 6H6.5a3.5 3.5 0 0 0 0 7H10',
  sun: 'M8 5a3 3 0 1 0 .01 0M8 1v1.6M8 13.4V15M1 8h1.6M13.4 8H15M3 3l1.2 1.2M11.8 11.8 13 13M13 3l-1.2 1.2M4.2 11.8 3 13',
  moon: 'M12.5 10A5.5 5.5 0 0 1 6 3.5a5.5 5.5 0 1 0 6.5 6.5z',
  lock: 'M4 7.5h8v6H4zM5.5 7.5V5a2.5 2.5 0 0 1 5 0v2.5',
  fit: 'M2.5 6V2.5H6M10 2.5h3.5V6M13.5 10v3.5H10M6 13.5H2.5V10',
  open: 'M5.5 7.5V5a2.5 2.5 0 0 1 4.8-1M4 7.5h8v6H4z',
  print: 'M4.5 6V2.5h7V6M4.5 11H2.5V6h11v5h-2M4.5 9h7v4.5h-7z',
};
export function Glyph({ of, size = 14 }: { of: keyof typeof kPaths | string; size?: number }) {
  return (
    <svg
      className="glyph"
      style={{ width: `${size / 16}rem`, height: `${size / 16}rem` }}
      viewBox="0 0 16 16"
      aria-hidden="true"
      focusable="false"
    >
      <path
        d={kPaths[of] ?? ''}
        fill="none"
        stroke="currentColor"
        strokeWidth="1.7"
        strokeLinecap="round"
        strokeLinejoin="round"
      />
    </svg>
  );
}
