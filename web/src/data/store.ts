// The page's one state: what the server last said, plus edits on their way to it. Views read it with use_store and change
// the project only through `edit`, so undo, saving and the other tabs always see the same thing.
import { useSyncExternalStore } from 'react';

import type {
  Edit,
  EditAnswer,
  FileProblem,
  Job,
  JsonObject,
  MarginsEvent,
  Project,
  Result,
  Session,
} from '../contract.ts';
import { ApiError, get, send } from './api.ts';
import { listen, type ServerEvent } from './events.ts';
import { apply } from './pointer.ts';

export interface Notice {
  tone: 'info' | 'fault';
  text: string;
  detail?: string;
}

export interface State {
  phase: 'starting' | 'failed' | 'ready';
  fault: ApiError | null;
  session: Session | null;
  schema: JsonObject | null;
  project: Project | null;
  result: Result | null;
  early: MarginsEvent | null; ///< what is known of the design that is being computed
  job: Job | null;
  saving: number; ///< edits not yet answered
  unsaved: boolean; ///< the last edit was refused and is not in the file
  mistakes: boolean; ///< the file cannot be designed from; `result` is the newest that could
  outside: boolean; ///< the file was changed by another program
  link: boolean; ///< the event stream is up
  notice: Notice | null;
}

let state: State = {
  phase: 'starting',
  fault: null,
  session: null,
  schema: null,
  project: null,
  result: null,
  early: null,
  job: null,
  saving: 0,
  unsaved: false,
  mistakes: false,
  outside: false,
  link: true,
  notice: null,
};
const watchers = new Set<() => void>();

export function getState(): State {
  return state;
}
export function setState(change: Partial<State>): void {
  state = { ...state, ...change };
  for (const w of watchers) w();
}
function subscribe(watcher: () => void): () => void {
  watchers.add(watcher);
  return () => watchers.delete(watcher);
}
export function useStore<T>(pick: (s: State) => T): T {
  return useSyncExternalStore(subscribe, () => pick(state));
}

export function tell(tone: Notice['tone'], text: string, detail = ''): void {
  setState({ notice: { tone, text, detail } });
}
export function tellError(error: unknown): void {
  if (error instanceof ApiError) tell('fault', error.message, error.detail);
  else tell('fault', 'Something went wrong in this page.', String(error));
}

// ---- reading ---------------------------------------------------------------------------------------------------------

async function maybe<T>(path: string): Promise<T | null> {
  try {
    return await get<T>(path);
  } catch (error) {
    if (error instanceof ApiError && (error.status === 404 || error.status === 409)) return null;
    throw error;
  }
}

/// The newest design; when the file has mistakes, the newest one that was made before them, so that the page stays useful.
async function newestResult(): Promise<{ result: Result | null; mistakes: boolean }> {
  const result = await maybe<Result>('/api/result');
  if (result?.design.status !== 'bad_input') return { result, mistakes: false };
  const sound = await maybe<Result>('/api/result?sound=1');
  return { result: sound && sound.design.status !== 'bad_input' ? sound : result, mistakes: true };
}

function newestJob(jobs: Job[]): Job | null {
  return jobs.filter((j) => j.what === 'design').at(-1) ?? jobs.at(-1) ?? null;
}

/// Everything anew; used at the start, after another project was opened and when the stream comes back.
export async function refresh(): Promise<void> {
  try {
    const session = await get<Session>('/api/session');
    if (!session.open) {
      setState({ session, project: null, result: null, early: null, job: null, phase: 'ready', fault: null });
      return;
    }
    const [schema, project, result, jobs] = await Promise.all([
      state.schema ?? get<JsonObject>('/api/schema'),
      maybe<Project>('/api/project'),
      newestResult(),
      get<Job[]>('/api/jobs'),
    ]);
    setState({ session, schema, project, ...result, job: newestJob(jobs), phase: 'ready', fault: null });
  } catch (error) {
    const fault =
      error instanceof ApiError ? error : new ApiError(0, 'This page failed to start.', String(error), null);
    setState({ phase: state.phase === 'ready' ? 'ready' : 'failed', fault });
  }
}

async function readProject(): Promise<void> {
  const [session, project] = await Promise.all([get<Session>('/api/session'), maybe<Project>('/api/project')]);
  if (session.folder !== state.session?.folder) return refresh(); // another tab opened another project
  // An edit made meanwhile is in the page but not yet in this answer: leave the page's document, the next answer has it.
  if (state.saving === 0) setState({ session, project });
}

/// Tells of one revision belong together; those of a newer one take their place.
export function joined(before: MarginsEvent | null, told: MarginsEvent): MarginsEvent {
  if (before === null || before.revision !== told.revision || before.job !== told.job) return told;
  const others = before.functions.filter((f) => !told.functions.some((g) => g.id === f.id));
  return { ...told, functions: [...others, ...told.functions] };
}

async function readResult(): Promise<void> {
  const newest = await newestResult();
  const over = state.early !== null && (newest.result?.revision ?? 0) >= state.early.revision;
  setState(over ? { ...newest, early: null } : newest);
  // Whole-project problems are found by the design job as well: take them from the server again.
  if (state.saving === 0) await readProject();
}

function onEvent(event: ServerEvent): void {
  const fail = (error: unknown) => tellError(error);
  if (event.name === 'progress') {
    const job = event.data as Job;
    if (state.job === null || Number(job.id) >= Number(state.job.id) || job.id === state.job.id) setState({ job });
  } else if (event.name === 'margins') {
    setState({ early: joined(state.early, event.data as MarginsEvent) });
  } else if (event.name === 'result') {
    readResult().catch(fail);
  } else if (event.name === 'project') {
    const { revision } = event.data as { revision: number };
    if (state.saving === 0 && revision !== state.project?.revision) {
      (state.project === null ? refresh() : readProject()).catch(fail);
    }
  } else if (event.name === 'outside') {
    setState({ outside: true });
  } else if (event.name === 'lost') {
    void refresh();
  }
}

let wasDown = false;
export function start(): () => void {
  void refresh();
  return listen(onEvent, (up) => {
    setState({ link: up });
    // What happened between the first reading and the opened stream would be missed.
    if (up && (wasDown || state.job?.state === 'running' || state.job?.state === 'waiting')) void refresh();
    wasDown = !up;
  });
}

// ---- changing --------------------------------------------------------------------------------------------------------

function take(answer: EditAnswer): void {
  if (!state.project || !state.session) return;
  setState({
    project: { ...state.project, revision: answer.revision, problems: answer.problems },
    session: { ...state.session, revision: answer.revision, undo: answer.undo, redo: answer.redo },
  });
}

// One request at a time, in the order they were made, so that each is based on the revision the one before gave.
let queue: Promise<void> = Promise.resolve();
function inTurn(work: () => Promise<void>): Promise<void> {
  setState({ saving: state.saving + 1 });
  queue = queue.then(async () => {
    try {
      await work();
      setState({ unsaved: false });
    } catch (error) {
      tellError(error);
      setState({ unsaved: true });
      setState({ saving: state.saving - 1 });
      await readProject().catch(() => undefined);
      return;
    }
    setState({ saving: state.saving - 1 });
    if (state.saving === 0) await readProject().catch(tellError);
  });
  return queue;
}

async function post(label: string, edits: Edit[], again: boolean): Promise<void> {
  try {
    take(await send<EditAnswer>('POST', '/api/edits', { revision: state.project?.revision ?? 0, label, edits }));
  } catch (error) {
    if (!(error instanceof ApiError) || error.status !== 409) throw error;
    if ((error.body as { outside?: boolean } | null)?.outside) setState({ outside: true });
    else if (again) return postAgain(label, edits);
    throw error;
  }
}

/// Another tab was first. An edit names what it changes, so it can be made on the newer text.
async function postAgain(label: string, edits: Edit[]): Promise<void> {
  const project = await get<Project>('/api/project');
  setState({ project: { ...project, document: apply(project.document, edits) } });
  await post(label, edits, false);
  tell('info', 'The project was changed elsewhere meanwhile; your change was made on top of it.');
}

/// Changes the project at once on the page, then in the file. `label` is what undo will call it.
export function edit(label: string, edits: Edit[]): Promise<void> {
  if (!state.project || edits.length === 0) return Promise.resolve();
  setState({ project: { ...state.project, document: apply(state.project.document, edits) } });
  return inTurn(() => post(label, edits, true));
}

export function step(way: 'undo' | 'redo'): Promise<void> {
  return inTurn(async () => take(await send<EditAnswer>('POST', `/api/${way}`)));
}

export function replaceText(text: string, label = 'edit the file'): Promise<void> {
  return inTurn(async () => {
    take(await send<EditAnswer>('PUT', '/api/text', { revision: state.project?.revision ?? 0, label, text }));
  });
}

export function settleOutside(keep: 'mine' | 'file'): Promise<void> {
  setState({ outside: false });
  return inTurn(async () => {
    await send('POST', '/api/reload', { keep });
  });
}

export async function stopJob(job: Job): Promise<void> {
  try {
    await send('POST', `/api/jobs/${job.id}/stop`);
  } catch (error) {
    tellError(error);
  }
}

export async function openProject(what: object): Promise<boolean> {
  setState({ notice: null });
  try {
    const session = await send<Session>('POST', '/api/open', what);
    setState({ session, project: null, result: null, early: null, job: null, outside: false, unsaved: false });
    await refresh();
    return true;
  } catch (error) {
    tellError(error);
    return false;
  }
}

/// Problems of the file at a place or below it.
export function problemsAt(problems: FileProblem[], pointer: string): FileProblem[] {
  return problems.filter((p) => {
    const at = p.at ?? '';
    return at === pointer || at.startsWith(pointer + '/');
  });
}
