// Where the user is: the view and the chosen function, kept in the address so that back, reload and a second tab work.
import { useSyncExternalStore } from 'react';

export const kViews = [
  'wants',
  'findings',
  'mechanism',
  'stance',
  'designs',
  'stock',
  'power',
  'space',
  'trace',
  'trial',
  'dossier',
] as const;
export type View = (typeof kViews)[number];
export interface Place {
  view: View;
  chosen: string;
}

function parse(hash: string): Place {
  const [view = '', chosen = ''] = hash.replace(/^#\/?/, '').split('/');
  return {
    view: (kViews as readonly string[]).includes(view) ? (view as View) : 'wants',
    chosen: decodeURIComponent(chosen),
  };
}
let last = { hash: '', place: parse('') };
function read(): Place {
  if (window.location.hash !== last.hash) last = { hash: window.location.hash, place: parse(window.location.hash) };
  return last.place;
}
function subscribe(on: () => void): () => void {
  window.addEventListener('hashchange', on);
  return () => window.removeEventListener('hashchange', on);
}
export function usePlace(): Place {
  return useSyncExternalStore(subscribe, read);
}
export function go(change: Partial<Place>): void {
  const next = { ...read(), ...change };
  window.location.hash = `/${next.view}/${encodeURIComponent(next.chosen)}`;
}
