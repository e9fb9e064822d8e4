import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Box, overlap, placeLabels } from '../../web/map/map-labels.ts';

const FRAME: Box = { x: 0, y: 0, width: 800, height: 600 };
const wish = (id: string, x: number, y: number) => ({ id, x, y, sizes: [{ width: 90, height: 40 }] });
const marker = ({ x, y }: { x: number; y: number }): Box => ({ x: x - 11, y: y - 11, width: 22, height: 22 });

describe('labels on the map', () => {
  it('never lie over each other, over a marker or over the rim', () => {
    const spots = fc.array(fc.record({ x: fc.integer({ min: 0, max: 800 }), y: fc.integer({ min: 0, max: 600 }) }), {
      maxLength: 40,
    });
    fc.assert(
      fc.property(spots, (all) => {
        const wishes = all.map(({ x, y }, i) => wish(String(i), x, y));
        const markers = wishes.map(marker);
        const placed = placeLabels(wishes, markers, FRAME, new Map());
        placed.forEach((label, i) => {
          expect(markers.some((one) => overlap(one, label.box))).toBe(false);
          expect(placed.slice(i + 1).some((other) => overlap(other.box, label.box))).toBe(false);
          expect(label.box.x).toBeGreaterThanOrEqual(0);
          expect(label.box.y + label.box.height).toBeLessThanOrEqual(600);
        });
      }),
      { numRuns: 200 },
    );
  });

  it('stay where they were while that place is free', () => {
    const one = wish('a', 400, 300);
    const [first] = placeLabels([one], [marker(one)], FRAME, new Map([['a', 5]]));
    expect(first?.slot).toBe(5);
    const blocked = { x: 300, y: 240, width: 90, height: 60 };
    const [second] = placeLabels([one], [marker(one), blocked], FRAME, new Map([['a', 5]]));
    expect(second?.slot).toBe(0);
  });

  it('say less before they say nothing', () => {
    const one = {
      id: 'a',
      x: 50,
      y: 50,
      sizes: [
        { width: 300, height: 40 },
        { width: 20, height: 20 },
      ],
    };
    const [label] = placeLabels([one], [marker(one)], { x: 0, y: 0, width: 100, height: 100 }, new Map());
    expect(label).toMatchObject({ size: 1, slot: 0 });
  });

  it('serve the first in line first', () => {
    const wishes = [wish('danger', 400, 300), wish('normal', 400, 300)];
    const placed = placeLabels(wishes, wishes.map(marker), FRAME, new Map());
    expect(placed.map(({ id, slot }) => [id, slot])).toEqual([
      ['danger', 0],
      ['normal', 1],
    ]);
  });
});
