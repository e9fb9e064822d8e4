/** The newest packets of one monitor, and those that could not be taken, as its page shows them. */
import { isNewer, stampOf } from '../../shared/incident/measured-time.ts';
import type { JournalRecord } from '../../shared/incident/records.ts';
import type { Stamp } from '../../shared/incident/state.ts';
import { toIso } from '../../shared/incident/time.ts';
import type { MonitorPackets, PacketRow } from '../../shared/protocol/history.ts';
import type { StoredPacket, StoredReading } from '../../shared/protocol/stored-packet.ts';
import { unitText } from '../../shared/quantity/display.ts';
import type { Post } from '../watch/post.ts';

type PacketOf = Extract<JournalRecord, { kind: 'packet' }>;

export function packetsView(post: Post, monitor: string, limit: number): MonitorPackets {
  const state = post.watch.state();
  const iso = (at: number) => toIso(at, state.wallOffsetMs);
  const recent = post.watch.journal().recentOf(monitor, limit);
  const packets = recent.filter((record): record is PacketOf => record.kind === 'packet');
  const stamps = packets.map((record) =>
    stampOf(record.packet, record.at, state.wallOffsetMs, state.relays.get(record.relay)),
  );
  return {
    packets: packets.map((record, i): PacketRow => {
      const stamp = stamps[i];
      return {
        cursor: record.cursor,
        at: iso(record.at),
        measuredAt: stamp === undefined ? null : iso(stamp.at),
        relay: record.relay,
        boot: record.packet.boot,
        seq: record.packet.seq,
        readings: [...record.packet.readings]
          .map(([channel, reading]) => `${channel} ${readingWords(reading)}`)
          .join(', '),
        aside: asideOf(record.packet),
        late: stamp !== undefined && wasLate(stamp, stamps.slice(i + 1)),
      };
    }),
    refused: recent.flatMap((record) =>
      record.kind === 'refused'
        ? [
            {
              cursor: record.cursor,
              at: iso(record.at),
              code: record.code,
              path: record.path,
              message: record.message,
              raw: record.raw,
            },
          ]
        : [],
    ),
  };
}

/** Whether something measured later had come before it. */
function wasLate(stamp: Stamp, before: readonly Stamp[]): boolean {
  return before.some((other) => !isNewer(stamp, other));
}

function readingWords(reading: StoredReading): string {
  if (reading.aside !== undefined) return `not understood: ${reading.aside.raw}`;
  const number = reading.value === undefined ? '' : `${reading.value} ${unitText(reading.unit ?? '')}`;
  return [reading.flag, number].filter(Boolean).join(' ');
}

function asideOf(packet: StoredPacket): PacketRow['aside'] {
  const readings = [...packet.readings].flatMap(([channel, { aside }]) =>
    aside === undefined ? [] : [{ code: aside.code, path: `readings.${channel}`, message: `set aside: ${aside.raw}` }],
  );
  const fields = (packet.aside ?? []).map(({ path, raw }) => ({
    code: 'field-invalid' as const,
    path,
    message: `set aside: ${raw}`,
  }));
  return [...readings, ...fields];
}
