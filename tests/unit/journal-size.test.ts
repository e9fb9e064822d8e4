import { statSync } from 'node:fs';
import { expect, it } from 'vitest';
import { openJournal } from '../../server/journal/sqlite-journal.ts';
import { EPOCH, samplePackets, temporaryFolder } from './journal-sample.ts';

/** What the project promises for rows, indexes and chain together. */
const PROMISED_BYTES = 150;
const COUNT = 20_000;

it.each([1, 10])('a packet of six readings takes at most 150 bytes in commits of %d', (group) => {
  const folder = temporaryFolder();
  const file = folder.path('size.journal');
  const journal = openJournal(file, { create: { epoch: EPOCH }, synchronous: 'OFF' });
  const records = samplePackets(COUNT, 100);
  for (let i = 0; i < COUNT; i += group) journal.append(records.slice(i, i + group));
  journal.close(); // the last connection to close moves the WAL into the file
  const bytes = statSync(file).size / COUNT;
  folder.remove();
  expect(bytes).toBeLessThanOrEqual(PROMISED_BYTES);
  expect(bytes).toBeGreaterThan(60); // less would mean that the packets are not in it
});
