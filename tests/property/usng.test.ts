/** Every reference names a square that holds its point; the npm package `mgrs`, written by others, agrees. */
import fc from 'fast-check';
import { forward } from 'mgrs';
import { describe, expect, it } from 'vitest';
import { fromUsng, toUsng, type UsngDigits } from '../../shared/map/usng.ts';
import { fromUtm, toUtm } from '../../shared/map/utm.ts';

const place = fc.record({
  lat: fc.double({ min: -80, max: 84, noNaN: true }),
  lon: fc.double({ min: -180, max: 179.999999, noNaN: true }),
});
const digits = fc.constantFrom<UsngDigits[]>(0, 1, 2, 3, 4, 5);

describe('USNG', () => {
  it('fromUsng(toUsng(p)) holds p', () => {
    fc.assert(
      fc.property(place, digits, ({ lat, lon }, count) => {
        const text = toUsng(lat, lon, count) ?? '';
        const square = fromUsng(text);
        if (!square.ok) throw new Error(`${text}: ${square.code}`);
        const point = toUtm(lat, lon, square.southWest.zone, square.southWest.south);
        const east = point.easting - square.southWest.easting;
        const north = point.northing - square.southWest.northing;
        expect(square.sizeM).toBe(100_000 / 10 ** count);
        for (const metres of [east, north]) {
          expect(metres).toBeGreaterThanOrEqual(-1e-6);
          expect(metres).toBeLessThan(square.sizeM + 1e-6);
        }
      }),
      { numRuns: 2000 },
    );
  });

  it('agrees with the package mgrs away from the metre where one may cut before the other', () => {
    fc.assert(
      fc.property(place, ({ lat, lon }) => {
        const { easting, northing } = toUtm(lat, lon);
        const clear = (metres: number) => Math.abs((metres % 10) - 5) < 4;
        fc.pre(clear(easting) && clear(northing));
        expect(toUsng(lat, lon, 4)).toBe(forward([lon, lat], 4));
      }),
      { numRuns: 1000 },
    );
  });

  it('UTM goes there and back to a micrometre', () => {
    fc.assert(
      fc.property(place, ({ lat, lon }) => {
        const there = toUtm(lat, lon);
        const again = toUtm(fromUtm(there).lat, fromUtm(there).lon, there.zone, there.south);
        expect(Math.abs(again.easting - there.easting)).toBeLessThan(1e-6);
        expect(Math.abs(again.northing - there.northing)).toBeLessThan(1e-6);
      }),
    );
  });
});
