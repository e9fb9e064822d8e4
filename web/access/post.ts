/** Asks the post for something and reads the answer; the network failing is an answer, too. */
import { z } from 'zod';

const refusal = z.object({ error: z.object({ code: z.string(), message: z.string() }) });

export type PostAnswer<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly status: number; readonly code: string; readonly message: string };

/** Sends JSON (or nothing) and checks the answer against `schema`. Status 0: the post did not answer. */
export async function ask<T>(
  method: 'GET' | 'POST' | 'DELETE',
  path: string,
  body: unknown,
  schema: z.ZodType<T>,
): Promise<PostAnswer<T>> {
  let response: Response;
  let value: unknown = null;
  try {
    response = await fetch(path, {
      method,
      cache: 'no-store',
      signal: AbortSignal.timeout(15_000),
      ...(body === undefined ? {} : { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) }),
    });
    if (response.status !== 204) value = await response.json();
  } catch {
    return { ok: false, status: 0, code: 'no-answer', message: 'The post did not answer.' };
  }
  if (!response.ok) {
    const read = refusal.safeParse(value);
    const error = read.success ? read.data.error : { code: 'refused', message: `refused (${response.status})` };
    return { ok: false, status: response.status, ...error };
  }
  const read = schema.safeParse(value);
  if (read.success) return { ok: true, value: read.data };
  return {
    ok: false,
    status: response.status,
    code: 'not-understood',
    message: 'The answer was not understood.',
  };
}

/** A new id; `crypto.randomUUID` is missing on plain HTTP beyond loopback, random values are not. */
export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}
