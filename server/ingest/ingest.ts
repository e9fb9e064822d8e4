/**
 * The one path by which packets come in, over HTTP and over the relay stream: each is judged alone, and what
 * cannot be taken is recorded as refused, with its text.
 */

import type { RecordBody } from '../../shared/incident/records.ts';
import { toIso, toWallMs } from '../../shared/incident/time.ts';
import type { PacketResult, PacketsAnswer, Rejection, Warning } from '../../shared/protocol/packet.ts';
import { readPacket } from '../../shared/protocol/read-packet.ts';
import type { PostClock } from '../journal/post-clock.ts';
import type { Outcome } from '../journal/recorder.ts';
import type { Watch } from '../watch/watch.ts';

const RAW_LIMIT = 2_048;

type Judged = { readonly body: RecordBody; readonly warnings: readonly Warning[]; readonly error: Rejection | null };

/**
 * Takes packets of one relay and answers once they are on disk, one result each, in order.
 * Rejects with NotRecordable, and then nothing of the request was acknowledged.
 */
export async function takePackets(
  watch: Watch,
  clock: PostClock,
  relay: string,
  raws: readonly unknown[],
): Promise<PacketsAnswer> {
  const { wallOffsetMs, journal } = watch.state();
  const nowMs = toWallMs(clock.now(), wallOffsetMs);
  const real = journal?.purpose === 'incident';
  const judged = raws.map((raw) => judge(relay, raw, nowMs, real));
  const outcomes = await watch.record(
    judged.map((one) => one.body),
    { rawOf: (index) => rawOf(raws[index]) },
  );
  const results = judged.map((one, i) => resultOf(one, outcomes[i]));
  return { results, postTime: toIso(clock.now(), watch.state().wallOffsetMs) };
}

function judge(relay: string, raw: unknown, nowMs: number, real: boolean): Judged {
  const read = readPacket(raw, nowMs);
  if (!read.ok) return refused(relay, raw, read.error, read.monitor);
  if (real && read.packet.simulated === true) {
    const message = 'simulated: a real incident takes no simulated packet; open an exercise for it';
    return refused(relay, raw, { code: 'simulated', path: 'simulated', message }, read.packet.monitor);
  }
  return { body: { kind: 'packet', relay, packet: read.packet }, warnings: read.warnings, error: null };
}

function refused(relay: string, raw: unknown, error: Rejection, monitor: string | undefined): Judged {
  const body: RecordBody = {
    kind: 'refused',
    relay,
    ...(monitor === undefined ? {} : { monitor }),
    ...error,
    raw: rawOf(raw),
  };
  return { body, warnings: [], error };
}

function rawOf(raw: unknown): string {
  const text = JSON.stringify(raw) ?? String(raw);
  return text.length > RAW_LIMIT ? text.slice(0, RAW_LIMIT) : text;
}

const CONFLICT: Rejection = {
  code: 'conflict',
  path: 'seq',
  message: 'seq: another packet of this monitor, boot and seq is stored; number again with a new boot',
};

function resultOf(one: Judged, outcome: Outcome | undefined): PacketResult {
  if (one.error !== null) return { status: 'rejected', error: one.error };
  if (outcome === undefined) throw new Error('a packet without an outcome');
  const cursor = outcome.cursor === undefined ? {} : { cursor: outcome.cursor };
  if (outcome.status === 'conflict') return { status: 'rejected', ...cursor, error: CONFLICT };
  const warnings = one.warnings.length === 0 ? {} : { warnings: [...one.warnings] };
  return { status: outcome.status, ...cursor, ...warnings };
}
