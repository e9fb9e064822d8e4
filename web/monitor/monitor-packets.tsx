/** The last packets of one monitor, and those that could not be taken. Holds still while somebody reads it. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { monitorPackets, type MonitorPackets as Packets } from '../../shared/protocol/history.ts';
import { ask } from '../access/post.ts';
import { useHold } from '../board/hold.ts';
import { clockTime } from '../words/times.ts';
import { Scroll } from './scroll.tsx';

const AGAIN_MS = 5000;

export function MonitorPackets({ id, zone }: { id: string; zone: string }) {
  const packets = useSignal<Packets | null>(null);
  const failure = useSignal<string | null>(null);
  const { ref, held } = useHold<HTMLElement>();
  useEffect(() => {
    let current = true;
    const load = async () => {
      if (held.peek() && packets.peek() !== null) return;
      const path = `/api/v1/monitors/${encodeURIComponent(id)}/packets?limit=50`;
      const answer = await ask('GET', path, undefined, monitorPackets);
      if (!current) return;
      if (answer.ok) packets.value = answer.value;
      failure.value = answer.ok ? null : answer.message;
    };
    packets.value = null;
    void load();
    const timer = setInterval(load, AGAIN_MS);
    return () => {
      current = false;
      clearInterval(timer);
    };
  }, [id, held, packets, failure]);

  const list = packets.value;
  return (
    <section ref={ref} aria-label="Packets">
      <h2>
        Packets <span class="soft">{held.value ? 'held while you read' : 'last 50, newest first'}</span>
      </h2>
      {failure.value !== null && <p>Not brought up to date: {failure.value}</p>}
      {list === null && failure.value === null && <p>Asking the post.</p>}
      {list !== null && list.refused.length > 0 && <Refused list={list} zone={zone} />}
      {list !== null && <Taken list={list} zone={zone} />}
    </section>
  );
}

function Taken({ list, zone }: { list: Packets; zone: string }) {
  if (list.packets.length === 0) return <p>No packet of this monitor is in this journal.</p>;
  return (
    <Scroll label="Packets that were taken">
      <table class="monitor-packets">
        <thead>
          <tr>
            <th scope="col">measured</th>
            <th scope="col">known</th>
            <th scope="col">relay</th>
            <th scope="col">boot, seq</th>
            <th scope="col">readings as sent</th>
            <th scope="col">set aside</th>
          </tr>
        </thead>
        <tbody>
          {list.packets.map((row) => (
            <tr key={row.cursor}>
              <td>{row.measuredAt === null ? 'clock unknown' : clockTime(row.measuredAt, zone)}</td>
              <td>
                {clockTime(row.at, zone)}
                {row.late && <b> late</b>}
              </td>
              <td>{row.relay ?? '–'}</td>
              <td>
                {row.boot}, {row.seq}
              </td>
              <td>{row.readings}</td>
              <td>{row.aside.map((one) => `${one.path}: ${one.message}`).join('; ')}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

function Refused({ list, zone }: { list: Packets; zone: string }) {
  return (
    <Scroll label="Packets that could not be taken">
      <table class="monitor-packets">
        <caption>Could not be taken: {list.refused.length}</caption>
        <thead>
          <tr>
            <th scope="col">known</th>
            <th scope="col">why</th>
            <th scope="col">as sent</th>
          </tr>
        </thead>
        <tbody>
          {list.refused.map((row) => (
            <tr key={row.cursor}>
              <td>{clockTime(row.at, zone)}</td>
              <td>
                <b>{row.code}</b> {row.path}: {row.message}
              </td>
              <td class="raw">{row.raw}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}
