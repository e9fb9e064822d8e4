import { beforeEach, describe, expect, test } from 'vitest';
import { createStore, type Store } from '../../web/feed/store.ts';
import { createPlayer, type Player } from '../../web/sound/player.ts';
import { soundItem } from '../../web/sound/sound-words.ts';
import { createTeller } from '../../web/sound/tell-post.ts';
import { alarm, delta, snapshot } from './web-fixtures.ts';

/** Stands in for the browser's sound: notes when pulses start, and plays nothing. */
class Sound {
  state = 'suspended';
  currentTime = 0;
  onstatechange: (() => void) | null = null;
  readonly destination = {};
  readonly starts: number[] = [];
  readonly stopped: number[] = [];
  mayRun = true;

  async resume() {
    if (!this.mayRun) throw new Error('not allowed');
    this.state = 'running';
  }
  async suspend() {
    this.state = 'suspended';
  }
  async close() {
    this.state = 'closed';
  }
  createPeriodicWave() {
    return {};
  }
  createGain() {
    const gain = {
      value: 1,
      setValueAtTime() {},
      linearRampToValueAtTime() {},
      setTargetAtTime: () => this.stopped.push(this.currentTime),
    };
    return { gain, connect: (to: unknown) => to, disconnect() {} };
  }
  createOscillator() {
    const start = (at: number) => void this.starts.push(at);
    return { frequency: {}, setPeriodicWave() {}, connect: (to: unknown) => to, start, stop() {}, onended: null };
  }
}

let made: Sound[];
let now: number;
let store: Store;
let player: Player;
let wish: boolean;
let mayRun: boolean;

function start(): void {
  player = createPlayer({
    memory: {
      wish: () => wish,
      setWish(on) {
        wish = on;
      },
      volume: () => 8,
      setVolume() {},
    },
    makeContext() {
      const sound = new Sound();
      sound.mayRun = mayRun;
      made.push(sound);
      return sound as unknown as AudioContext;
    },
    clock: () => now,
  });
  player.follow(store);
}

beforeEach(() => {
  made = [];
  now = 1000;
  wish = false;
  mayRun = true;
  store = createStore({ clock: () => now, hidden: () => true, beforePaint: () => {} });
  start();
});

/** Time goes on for the page and for the sound, in steps of 250 ms. */
async function wait(ms: number, moves = true): Promise<void> {
  for (let step = 0; step < ms; step += 250) {
    now += 250;
    for (const sound of made) if (sound.state === 'running' && moves) sound.currentTime += 0.25;
    player.tick();
    await Promise.resolve();
  }
}

async function turnOn(): Promise<Sound> {
  player.turnOn();
  await wait(250);
  await wait(250);
  const sound = made.at(-1);
  if (!sound) throw new Error('no sound was made');
  return sound;
}

describe('on and off', () => {
  test('off until it is pressed, and silent while off', async () => {
    store.apply(snapshot([], [alarm('a')]));
    await wait(2000);
    expect(player.state.value).toBe('off');
    expect(made).toEqual([]);
    await turnOn();
    expect(player.state.value).toBe('on');
    expect(wish).toBe(true);
  });

  test('after a load the wish alone is left, and counts as off', () => {
    wish = true;
    start();
    expect(player.state.value).toBe('press-needed');
  });

  test('a browser that refuses is not on, and is asked again', async () => {
    mayRun = false;
    const sound = await turnOn();
    expect(player.state.value).toBe('stopped');
    sound.mayRun = true;
    await wait(500);
    expect(player.state.value).toBe('on');
  });

  test('a clock of the sound that stands still is not on', async () => {
    await turnOn();
    await wait(2500, false);
    expect(player.state.value).toBe('stopped');
    await wait(250);
    expect(player.state.value).toBe('on');
  });

  test('with nothing waiting, two pulses say that it works', async () => {
    store.apply(snapshot([]));
    expect((await turnOn()).starts).toHaveLength(2);
  });
});

describe('what is played', () => {
  test('ten pulses for a danger, laid down at once in the rhythm of the pattern', async () => {
    store.apply(snapshot([]));
    const sound = await turnOn();
    await wait(1000);
    sound.starts.length = 0;
    store.apply(delta(11, { alarms: [alarm('a')] }));
    expect(sound.starts).toHaveLength(10);
    const steps = sound.starts.slice(1).map((at, i) => Math.round(1000 * (at - (sound.starts[i] ?? Number.NaN))));
    expect(steps).toEqual([160, 160, 320, 160, 500, 160, 160, 320, 160]);
  });

  test('a danger cuts a caution off; a caution waits for the danger to end', async () => {
    store.apply(snapshot([], [alarm('c', { priority: 'caution' })]));
    const sound = await turnOn();
    expect(sound.starts).toHaveLength(3);
    store.apply(delta(11, { alarms: [alarm('d')] }));
    expect(sound.stopped).toHaveLength(1);
    expect(sound.starts).toHaveLength(13);
    store.apply(delta(12, { alarms: [alarm('e', { priority: 'caution' })] }));
    await wait(2000);
    expect(sound.starts).toHaveLength(13);
    await wait(4000);
    expect(sound.starts).toHaveLength(16);
  });

  test('an answer ends the burst', async () => {
    store.apply(snapshot([], [alarm('a')]));
    const sound = await turnOn();
    store.apply(delta(11, { alarms: [alarm('a', { state: 'acknowledged' })] }));
    expect(sound.stopped).toHaveLength(1);
  });

  test('again after a minute', async () => {
    store.apply(snapshot([], [alarm('a')]));
    const sound = await turnOn();
    expect(sound.starts).toHaveLength(10);
    for (let s = 0; s < 59; s += 1) {
      store.apply({ type: 'heartbeat', cursor: 10, at: '2026-05-14T13:05:00.000Z' });
      await wait(1000);
    }
    expect(sound.starts).toHaveLength(10);
    await wait(1000);
    expect(sound.starts).toHaveLength(20);
  });

  test('a post that is not heard sounds as a caution, and again after 15 s', async () => {
    store.apply(snapshot([]));
    const sound = await turnOn();
    sound.starts.length = 0;
    for (let i = 0; i < 24; i += 1) {
      await wait(250);
      store.tick();
    }
    expect(sound.starts).toHaveLength(3);
    await wait(15_000);
    expect(sound.starts).toHaveLength(6);
  });
});

describe('the caution', () => {
  test.each([
    ['off', 0, 'No screen sounds this one is off too'],
    ['off', 1, 'Sound is off here though one other screen sounds'],
    ['press-needed', 2, 'Sound needs one press after a reload though 2 others sound'],
    ['press-needed', 0, 'Sound needs one press after a reload and no screen sounds'],
    ['stopped', undefined, 'Sound is off here: the browser does not play it '],
  ] as const)('%s, with %s sounding: %s', (state, sounding, words) => {
    const item = soundItem(state, sounding);
    expect(`${item?.head} ${item?.detail}`).toBe(words);
  });
  test('none while this screen sounds', () => {
    expect(soundItem('on', 0)).toBeNull();
  });
});

test('the post is told on each socket, when it changes, and again while it is on', () => {
  const said: string[] = [];
  const socket = { readyState: 1, send: (text: unknown) => void said.push(String(text)) };
  const teller = createTeller();
  const [on, off] = ['{"type":"sound","on":true}', '{"type":"sound","on":false}'];
  teller.tell(null, true, 0);
  teller.tell({ ...socket, readyState: 0 }, true, 0);
  teller.tell(socket, false, 0); // a new socket is taken for a silent one
  expect(said).toEqual([]);
  teller.tell(socket, true, 100);
  teller.tell(socket, true, 350);
  expect(said).toEqual([on]);
  teller.tell(socket, true, 4200);
  expect(said).toEqual([on, on]);
  teller.tell(socket, false, 4300);
  teller.tell(socket, false, 9000);
  expect(said).toEqual([on, on, off]);
  teller.tell({ ...socket }, true, 9100);
  expect(said).toEqual([on, on, off, on]);
});
