// How waiting, nothing and failure look, the same everywhere.
import { Button, Loader } from '@mantine/core';
import type { ReactNode } from 'react';

import type { ApiError } from '../data/api.ts';
import { Glyph } from './glyph.tsx';

export function Waiting({ text }: { text: string }) {
  return (
    <div className="state" role="status">
      <Loader size="sm" />
      <h1>{text}</h1>
    </div>
  );
}
/// `inner` = the view has a head of its own above it.
export function Nothing({ title, inner, children }: { title: string; inner?: boolean; children?: ReactNode }) {
  return (
    <div className="state">
      {inner ? <h2>{title}</h2> : <h1>{title}</h1>}
      {children && <div className="state-text">{children}</div>}
    </div>
  );
}
export function Fault({ error, again }: { error: ApiError; again?: () => void }) {
  return (
    <div className="state" role="alert">
      <h1>
        <Glyph of="warning" size={18} /> {error.message}
      </h1>
      {error.detail && <p className="state-text">{error.detail}</p>}
      {again && (
        <Button size="xs" variant="default" onClick={again}>
          Try again
        </Button>
      )}
    </div>
  );
}
/// Head of a view: title, one line of what it answers, and its tools on the right.
export function Head({ title, lead, children }: { title: string; lead?: ReactNode; children?: ReactNode }) {
  return (
    <header className="head">
      <div>
        <h1>{title}</h1>
        {lead && <p className="lead">{lead}</p>}
      </div>
      {children && <div className="tools">{children}</div>}
    </header>
  );
}
