/**
 * One relay that posts its packets in order and loses none: what the server did not take stays in the backlog and is
 * tried again, later and later. After a failure the newest packet of each monitor goes first, then the backlog.
 */
import { packetsAnswer, type WirePacket } from '../../shared/protocol/packet.ts';
import type { Clock } from './clock.ts';
import { stampSent } from './stamp.ts';

const LARGEST_BATCH = 500;
const FIRST_PAUSE_MS = 250;
const LONGEST_PAUSE_MS = 10_000;
const ANSWER_TIMEOUT_MS = 15_000;

export type SendCounts = {
  stored: number;
  duplicate: number;
  rejected: number;
  warnings: number;
  /** Requests that had to be tried again. */
  retries: number;
  /** What the server said of the first packet that it rejected. */
  firstRejection?: string;
};

/** The server's refusal of a whole request, which trying again would not mend: wrong address, token or role. */
export class RequestRefusedError extends Error {
  override readonly name = 'RequestRefusedError';
  readonly status: number;
  constructor(status: number, message: string) {
    super(message);
    this.status = status;
  }
}

export type RelaySender = {
  readonly add: (packets: readonly WirePacket[]) => void;
  /** Sends until the backlog is empty or the signal aborts. Rejects with RequestRefusedError. */
  readonly drain: () => Promise<void>;
  readonly waiting: () => number;
};

export type RelaySenderOptions = {
  readonly url: string;
  readonly token: string;
  readonly counts: SendCounts;
  readonly clock: Clock;
  readonly signal: AbortSignal;
  readonly fetch: typeof fetch;
};

type Attempt =
  | { readonly kind: 'answered' }
  | { readonly kind: 'too-large' }
  | { readonly kind: 'again'; readonly afterMs: number | undefined };

export function createRelaySender(options: RelaySenderOptions): RelaySender {
  const { counts, clock, signal } = options;
  let backlog: WirePacket[] = [];
  let batchSize = LARGEST_BATCH;
  let pauseMs = FIRST_PAUSE_MS;
  let draining: Promise<void> | undefined;

  async function attempt(batch: readonly WirePacket[]): Promise<Attempt> {
    let response: Response;
    let body: string;
    const request = cancellable(signal, ANSWER_TIMEOUT_MS);
    try {
      response = await options.fetch(`${options.url.replace(/\/+$/, '')}/api/v1/packets`, {
        method: 'POST',
        headers: { authorization: `Bearer ${options.token}`, 'content-type': 'application/json' },
        body: JSON.stringify(stampSent(batch, clock.now())),
        signal: request.signal,
      });
      body = await response.text();
    } catch {
      return { kind: 'again', afterMs: undefined }; // no connection, no answer: the packets may or may not be stored
    } finally {
      request.done();
    }
    if (response.status === 429 || response.status >= 500) {
      return { kind: 'again', afterMs: retryAfterMs(response) };
    }
    if (response.status === 413 && batch.length > 1) return { kind: 'too-large' };
    if (response.status !== 200) throw refusal(response.status, body);
    count(body, batch.length);
    return { kind: 'answered' };
  }

  function count(body: string, sent: number): void {
    const answer = packetsAnswer.safeParse(parseJson(body));
    if (!answer.success || answer.data.results.length !== sent) {
      throw new RequestRefusedError(200, 'the answer is not that of an Upwind server');
    }
    for (const result of answer.data.results) {
      counts[result.status] += 1;
      counts.warnings += result.warnings?.length ?? 0;
      if (result.error !== undefined) counts.firstRejection ??= `${result.error.code}: ${result.error.message}`;
    }
  }

  async function sendAll(): Promise<void> {
    while (backlog.length > 0 && !signal.aborted) {
      const batch = backlog.slice(0, batchSize);
      const outcome = await attempt(batch);
      if (outcome.kind === 'answered') {
        backlog = backlog.slice(batch.length);
        pauseMs = FIRST_PAUSE_MS;
      } else if (outcome.kind === 'too-large') {
        batchSize = Math.ceil(batch.length / 2);
      } else if (!signal.aborted) {
        counts.retries += 1;
        await clock.wait(outcome.afterMs ?? pauseMs, signal);
        pauseMs = Math.min(LONGEST_PAUSE_MS, pauseMs * 2);
        backlog = newestFirst(backlog);
      }
    }
  }

  return {
    add: (packets) => {
      backlog.push(...packets);
    },
    drain: () => {
      draining ??= sendAll().finally(() => {
        draining = undefined;
      });
      return draining;
    },
    waiting: () => backlog.length,
  };
}

/**
 * A signal that follows another one or a time-out. By hand, because AbortSignal.any on a signal that lives as long as
 * the program keeps something for every request in some versions of Node.
 */
function cancellable(parent: AbortSignal, timeoutMs: number): { signal: AbortSignal; done: () => void } {
  const controller = new AbortController();
  const abort = () => controller.abort();
  if (parent.aborted) abort();
  parent.addEventListener('abort', abort, { once: true });
  const timer = setTimeout(abort, timeoutMs);
  return {
    signal: controller.signal,
    done: () => {
      clearTimeout(timer);
      parent.removeEventListener('abort', abort);
    },
  };
}

/** The newest packet of each monitor, then the others by time of measurement. */
function newestFirst(packets: readonly WirePacket[]): WirePacket[] {
  const byTime = packets.toSorted((a, b) => timeOf(a) - timeOf(b));
  const newest = new Set(new Map(byTime.map((packet) => [packet.monitor, packet])).values());
  return [...newest, ...byTime.filter((packet) => !newest.has(packet))];
}

function timeOf(packet: WirePacket): number {
  return Date.parse(packet.measuredAt ?? '');
}

/** `Retry-After` in seconds, as the protocol has it; the form with a date is not used there. */
function retryAfterMs(response: Response): number | undefined {
  const header = response.headers.get('retry-after');
  const value = header === null ? Number.NaN : Number(header);
  return Number.isFinite(value) && value >= 0 ? Math.min(value * 1000, 60_000) : undefined;
}

function refusal(status: number, body: string): RequestRefusedError {
  const said = body.replace(/\s+/g, ' ').slice(0, 200);
  const why = {
    401: 'the token is not known',
    403: 'the token may not post packets',
    404: 'no such address',
  }[status];
  return new RequestRefusedError(status, `HTTP ${status}${why === undefined ? '' : `, ${why}`}: ${said}`);
}

function parseJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
