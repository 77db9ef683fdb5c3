// Requests to the server. Every refusal becomes an ApiError that carries the server's own words.
import type { ProblemBody } from '../contract.ts';

export class ApiError extends Error {
  readonly status: number;
  readonly detail: string;
  readonly body: unknown;
  constructor(status: number, title: string, detail: string, body: unknown) {
    super(title);
    this.status = status;
    this.detail = detail;
    this.body = body;
  }
}

export const kUnreachable = 'The program does not answer.';

async function refusal(response: Response): Promise<ApiError> {
  let body: { problem?: ProblemBody } | null = null;
  try {
    body = (await response.json()) as { problem?: ProblemBody };
  } catch {
    // A proxy or a crash may answer without JSON; the status says enough.
  }
  const p = body?.problem;
  if (response.status === 401) {
    const how = 'This address is only good for one start of the program. Open the address that it printed last.';
    return new ApiError(401, 'The program does not know this page.', how, body);
  }
  return new ApiError(response.status, p?.title ?? `The program refused (${response.status}).`, p?.detail ?? '', body);
}

async function request(path: string, init: RequestInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(path, init);
  } catch (error) {
    if (init.signal?.aborted) throw error;
    throw new ApiError(0, kUnreachable, 'Was it closed? Start it again and reload this page.', null);
  }
  if (!response.ok) throw await refusal(response);
  return response;
}

export async function get<T>(path: string, signal?: AbortSignal): Promise<T> {
  return (await (await request(path, signal ? { signal } : {})).json()) as T;
}

export async function getText(path: string, signal?: AbortSignal): Promise<string> {
  return (await request(path, signal ? { signal } : {})).text();
}

export async function getBlob(path: string, signal?: AbortSignal): Promise<Blob> {
  return (await request(path, signal ? { signal } : {})).blob();
}

export async function send<T>(method: string, path: string, body?: unknown, signal?: AbortSignal): Promise<T> {
  const response = await request(path, {
    ...(signal ? { signal } : {}),
    method,
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body ?? {}), // never empty: the server wants a Content-Length
  });
  const text = await response.text();
  return (text ? JSON.parse(text) : null) as T;
}

export async function sendRaw<T>(method: string, path: string, type: string, body: BodyInit): Promise<T> {
  const response = await request(path, { method, headers: { 'content-type': type }, body });
  const text = await response.text();
  return (text ? JSON.parse(text) : null) as T;
}

/// "?a=1&b=2" of what is given; empty values are left out.
export function query(values: Record<string, string | number | undefined>): string {
  const list = Object.entries(values).filter(([, v]) => v !== undefined && v !== '');
  return list.length === 0 ? '' : '?' + new URLSearchParams(list.map(([k, v]) => [k, String(v)])).toString();
}
