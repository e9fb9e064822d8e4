/**
 * Reads what came over the socket. A snapshot is checked against the schema, field by field. The many frames after
 * it are checked by hand as far as the page leans on them: a frame that fails is told, never half believed.
 */
import { type LiveFrame, liveFrame } from '../../shared/protocol/frames.ts';

type Fields = Readonly<Record<string, unknown>>;

function isFields(value: unknown): value is Fields {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

const isText = (value: unknown): value is string => typeof value === 'string';
const isNumber = (value: unknown): value is number => typeof value === 'number' && Number.isFinite(value);
const isNumberOrNull = (value: unknown): boolean => value === null || isNumber(value);
const isArrayOf = (value: unknown, each: (item: unknown) => boolean): boolean =>
  Array.isArray(value) && value.every(each);
const isAbsentOr = (value: unknown, each: (item: unknown) => boolean): boolean => value === undefined || each(value);

const LINKS = new Set<unknown>(['live', 'stale', 'lost']);
const STANDINGS = new Set<unknown>(['good', 'doubtful', 'unusable']);
const PRIORITIES = new Set<unknown>(['danger', 'caution', 'notice']);

function isCell(value: unknown): boolean {
  return (
    isFields(value) &&
    isNumberOrNull(value.value) &&
    (value.unit === null || isText(value.unit)) &&
    STANDINGS.has(value.standing) &&
    isArrayOf(value.reasons, (reason) => isFields(reason) && isText(reason.words)) &&
    isNumberOrNull(value.headroom) &&
    isArrayOf(value.ticks, isNumber) &&
    isNumberOrNull(value.trend) &&
    isText(value.measuredAt) &&
    (value.level === null || PRIORITIES.has(value.level)) &&
    isAbsentOr(value.spark, (spark) => isArrayOf(spark, isSparkPoint))
  );
}

function isSparkPoint(point: unknown): boolean {
  return Array.isArray(point) && point.length === 2 && isNumber(point[0]) && isNumberOrNull(point[1]);
}

function isMonitor(value: unknown): boolean {
  return (
    isFields(value) &&
    isText(value.id) &&
    isFields(value.readings) &&
    Object.values(value.readings).every(isCell) &&
    isFields(value.status) &&
    isArrayOf(value.notWatched, isText) &&
    isAbsentOr(value.track, Array.isArray) &&
    isText(value.lastHeardAt) &&
    LINKS.has(value.link)
  );
}

function isAlarm(value: unknown): boolean {
  return (
    isFields(value) &&
    isText(value.id) &&
    isNumber(value.occurrence) &&
    isText(value.monitor) &&
    PRIORITIES.has(value.priority) &&
    isText(value.state) &&
    isText(value.since) &&
    isText(value.raisedAt) &&
    isText(value.words) &&
    isText(value.action) &&
    isText(value.source)
  );
}

function isHead(value: unknown): boolean {
  return (
    isFields(value) &&
    isFields(value.journal) &&
    isText(value.journal.zone) &&
    isFields(value.recording) &&
    typeof value.recording.ok === 'boolean' &&
    isFields(value.setPoints) &&
    Array.isArray(value.relays) &&
    Array.isArray(value.teams) &&
    Array.isArray(value.people) &&
    Array.isArray(value.notices)
  );
}

/** A check of what the page leans on; the schema stays the full description. */
function isFrameAfterSnapshot(value: unknown): value is Exclude<LiveFrame, { type: 'snapshot' }> {
  if (!isFields(value)) return false;
  if (value.type === 'gone') return isText(value.reason);
  if (!isNumber(value.cursor) || !isText(value.at)) return false;
  switch (value.type) {
    case 'heartbeat':
      return true;
    case 'event':
      return isFields(value.event) && isText(value.event.words) && isNumber(value.event.at);
    case 'delta':
      return (
        isArrayOf(value.monitors, isMonitor) &&
        isArrayOf(value.alarms, isAlarm) &&
        isArrayOf(value.ended, isText) &&
        isAbsentOr(value.head, isHead)
      );
    default:
      return false;
  }
}

export type FrameAnswer =
  | { readonly ok: true; readonly frame: LiveFrame }
  | { readonly ok: false; readonly code: 'not-json' | 'not-a-frame'; readonly message: string };

/** Reads one message of the live socket. */
export function readFrame(text: string): FrameAnswer {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return { ok: false, code: 'not-json', message: 'a message of the post is not JSON' };
  }
  if (isFields(value) && value.type === 'snapshot') {
    const read = liveFrame.safeParse(value);
    if (read.success) return { ok: true, frame: read.data };
    const first = read.error.issues[0];
    return { ok: false, code: 'not-a-frame', message: `${first?.path.join('.')}: ${first?.message}` };
  }
  if (isFrameAfterSnapshot(value)) return { ok: true, frame: value };
  return { ok: false, code: 'not-a-frame', message: 'a message of the post was not understood' };
}
