import type * as Results from './generated/result.ts';
import type * as Server from './generated/server.ts';
import type { Vehicle } from './views/trial_run.ts';

// What the server answers. Names, units and meanings are the server's; nothing here is computed in the page.

export type Pointer = string;
export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export type JsonObject = { [key: string]: Json };

export interface ProblemBody {
  status: number;
  title: string;
  detail: string;
  at?: Pointer;
}

export interface ExampleInfo {
  id: string;
  title: string;
  summary: string;
}
export interface DimensionInfo {
  key: string;
  default: number | string;
  unit: string;
  summary: string;
  minimum?: number;
  maximum?: number;
}
export interface ArchetypeInfo {
  id: string;
  title: string;
  summary?: string;
  dimensions: DimensionInfo[];
}

/// How many steps there are and what the next one is called.
export interface Steps {
  count: number;
  label: string;
}

export type Session = Server.Session;
export type Job = Server.Job;
export type EditAnswer = Server.Edited;
export type FileProblem = Server.Project['problems'][number];

export interface Project {
  revision: number;
  text: string;
  document: JsonObject;
  problems: FileProblem[];
}

export type Edit =
  { op: 'set'; at: Pointer; value: Json } | { op: 'insert'; at: Pointer; value: Json } | { op: 'remove'; at: Pointer };

/// What is known of a function before the design is done.
export type Offer = Omit<Server.MarginsEvent['functions'][number], 'worst_margin' | 'margins'> & {
  worst_margin: number | null;
  margins: Margin[];
};
export type MarginsEvent = Omit<Server.MarginsEvent, 'functions'> & { functions: Offer[] };

// ---- results: schema/result.schema.json, as scripts/types.ts makes types of it ---------------------------------------

/// A number that is not finite comes as null. The formats show it as a dash and scales leave it out, so that the views may
/// count on a number; where null says more than that, a type below says so itself.
type Finite<T> = [number] extends [T]
  ? [T] extends [number | null | undefined]
    ? Exclude<T, null>
    : T
  : T extends readonly (infer E)[]
    ? Finite<E>[]
    : T extends object
      ? { [K in keyof T]: Finite<T[K]> }
      : T;
/// Keys that only stages which were not reached leave out; the views ask for the stage first.
type Reached<T> = { [K in keyof T]-?: Exclude<T[K], undefined> };

export type Triple = Finite<Results.Triple>;
export type Margin = Finite<Results.Margin>;
export type Candidate = Omit<Finite<Results.Candidate>, 'confidence'> & { confidence?: number | null };
export type Curve = Candidate['curves'][number];
export type Figure = Candidate['figures'][number];
export type Shape = Candidate['shapes'][number];
export type Rejection = Finite<Results.Rejection>;
export type FunctionResult = Omit<Finite<Results.Function>, 'chosen'> & { chosen: Candidate | null };
export type Change = Results.Change;
export type Conflict = Finite<Results.Conflict>;
export type PairsOut = Omit<Results.Allocation['pairs_out'], 'pairs'> & {
  pairs: { worst_margin: number | null; ways: WayOut[] }[];
};
export type WayOut = Omit<Finite<Results.WayOut>, 'worst_margin'> & { worst_margin: number | null };
export type FrontPoint = Finite<Results.FrontPoint>;
type Told = Finite<Results.Assessment>;
export type Finding = Told['findings'][number];
export type Remedy = Finding['remedies'][number];
export type Stance = Told['stance'];
export type Ground = Reached<Told['ground']>;
export type Power = Told['power'];
export type Duty = NonNullable<Power['duty']>;
export type PartRow = Told['parts'][number];

export interface LiftRow {
  slew_deg: number;
  greatest_g: (number | null)[];
  rated_g: (number | null)[];
  governs: (string | null)[];
  confidence: (number | null)[];
}
/// A cell of null is not reached by the hook.
export type Lifting = Omit<Reached<Finite<Results.Lifting>>, 'states'> & { states: LiftState[] };
export type LiftState = Omit<Reached<Finite<Results.Lifting>>['states'][number], 'postures'> & {
  postures: { posture: string; rows: LiftRow[] }[];
};
export type Assessment = Omit<Told, 'lifting' | 'ground' | 'certainty'> & {
  lifting: Lifting;
  ground: Ground;
  certainty: Results.Assessment['certainty'];
};
export type Design = Omit<Reached<Finite<Results.Design>>, 'assessment' | 'functions' | 'allocation'> & {
  functions: FunctionResult[];
  assessment: Assessment | null;
  allocation:
    (Omit<Finite<Results.Allocation>, 'ways_out' | 'pairs_out'> & { ways_out: WayOut[]; pairs_out: PairsOut }) | null;
};
export interface Result {
  revision: number;
  design: Design;
}
export type Explanation = Omit<Reached<Finite<Results.Explain>>, 'shown' | 'chosen'> & {
  chosen: string | null;
  shown: Candidate | null;
};
export type CandidateRow = Explanation['candidates'][number];
export type ScaleStudy = Reached<Omit<Finite<Results.Scale>, 'best_scale'>> & { best_scale: number | null };
export type HandsetPlan = Finite<NonNullable<Results.Handset['handset']>>;
export type StockPreview = Reached<Finite<Results.Stock>>;
export type ImportRow = StockPreview['rows'][number];

export interface StockRow {
  name: string;
  part: string;
  colour: string;
  count: number;
  used: number;
  reserved: number;
  left: number;
  takers: { function: string; count: number }[];
}
export interface Stock {
  rows: StockRow[];
  doubtful: ImportRow[];
  unknown: ImportRow[];
  faulty?: ImportRow[];
  csv?: string;
  columns?: string;
}
export interface Variant {
  id: string;
  note: string;
  revision_hash: string;
  summary: unknown;
  text: string;
  picks: Record<string, string | null>;
}

export type TrialGround = Omit<Server.TrialGround, 'friction'> & { friction: Triple | null };
type TrialAnswer = Finite<Results.Trial>['trial'];
/// One recorded run; what follows the verdict is left out where nothing could be run.
export type TrialRun = Omit<Server.CourseTrial, 'trial' | 'vehicle'> & {
  vehicle: Vehicle;
  trial: Omit<Extract<TrialAnswer, { course: string }>, 'ground_mm'> & { ground_mm: [number, number][] };
};
export type TrialFigures = Omit<Server.TrialFigures, 'trial'> & {
  trial: Extract<TrialAnswer, { cannot_say: string[] }>;
};
export type LiftRun = Omit<Server.LiftTrial, 'trial'> & { trial: Extract<TrialAnswer, { task: 'lift' }> };
export type LiveGround = Omit<Server.LiveTrial, 'ground_mm' | 'vehicle'> & {
  ground_mm: [number, number][];
  vehicle: Vehicle;
};
export type Languages = Server.Languages;
export type Dossier = Server.Dossier;
