/** Compares the board that a server serves with the fold of its file, made anew by the test. */
import { expect } from 'vitest';
import { fold } from '../../shared/incident/fold.ts';
import { createState } from '../../shared/incident/state.ts';
import { boardView } from '../../shared/incident/view.ts';
import { type Board, board } from '../../shared/protocol/board.ts';
import { currentJournal, readJournal } from './journal-files.ts';
import { type RunningPost, send } from './run-server.ts';

/** The board as a program with that viewer token gets it, in the shape that is promised. */
export async function boardOf(post: Pick<RunningPost, 'url'>, viewer: string): Promise<Board> {
  const answer = await send(post, 'GET', '/api/v1/board', { headers: { authorization: `Bearer ${viewer}` } });
  expect(answer.status).toBe(200);
  return board.parse(answer.body);
}

/** What is served is the fold of the file, but for what depends on the moment it was asked at. */
export async function expectSameBoard(post: RunningPost, viewer: string): Promise<void> {
  const served = await boardOf(post, viewer);
  const state = createState();
  for (const record of readJournal(currentJournal(post.dataDir))) {
    if (record.cursor <= served.cursor) fold(state, record);
  }
  const folded = board.parse(JSON.parse(JSON.stringify(boardView(state, served.epoch, { ok: true }))));
  expect(timeless(served)).toEqual(timeless(folded));
}

/** Without what moves on by itself: links and alarms of silence, standings by age, exposures, what nobody answers. */
function timeless({ at: _, figures: _figures, ...rest }: Board): unknown {
  return {
    ...rest,
    monitors: rest.monitors.map(({ link: _link, ...monitor }) => ({
      ...monitor,
      readings: Object.fromEntries(
        Object.entries(monitor.readings).map(([channel, { standing: _s, reasons: _r, ...cell }]) => [channel, cell]),
      ),
    })),
    people: rest.people.map(({ exposure: _exposure, ...person }) => person),
    alarms: rest.alarms
      .filter(({ kind }) => !['silent', 'still', 'relay-lost'].includes(kind))
      .map(({ escalated: _escalated, ...alarm }) => alarm),
  };
}
