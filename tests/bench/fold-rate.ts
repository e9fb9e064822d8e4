/** The pure fold on one core: packets of 1,000 monitors with every rule that is built. Prints packets a second. */
import { createChanges } from '../../shared/incident/changes.ts';
import { fold } from '../../shared/incident/fold.ts';
import { createState } from '../../shared/incident/state.ts';
import { readPacket } from '../../shared/protocol/read-packet.ts';
import { createMaker } from './packets.ts';

const monitors = Number(process.argv[2] ?? 1000);
const rounds = Number(process.argv[3] ?? 60);
const maker = createMaker('fold', monitors);
const packets = Array.from({ length: monitors * rounds }, () => {
  const read = readPacket(JSON.parse(maker.next()), 1.78e12);
  if (!read.ok) throw new Error(read.error.message);
  return read.packet;
});
const state = createState();
let cursor = 0;
const startAt = 1.78e15;
const from = process.cpuUsage();
for (const packet of packets) {
  cursor += 1;
  fold(
    state,
    { kind: 'packet', relay: 'bench', packet, cursor, at: startAt + cursor * Math.round(1e6 / monitors) },
    createChanges(),
  );
}
const used = process.cpuUsage(from);
process.stdout.write(`${Math.round(cursor / ((used.user + used.system) / 1e6))}\n`);
