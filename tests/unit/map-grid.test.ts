/** Zone edges and the exceptions of Norway and Svalbard: FGDC-STD-011-2001 and NGA.SIG.0012 (UTM zones), from memory. */
import { describe, expect, it } from 'vitest';
import { gridLabel, gridStep, metricGrid, zoneParts } from '../../shared/map/grid.ts';
import { toUtm } from '../../shared/map/utm.ts';

const FIELD = { south: 44.05, west: -98.215, north: 44.056, east: -98.205 };

describe('metric grid', () => {
  it('draws every line of the step within the view, and only those', () => {
    const { lines, edges } = metricGrid(FIELD, 100);
    expect(edges).toEqual([]);
    const sw = toUtm(FIELD.south, FIELD.west);
    const ne = toUtm(FIELD.north, FIELD.east);
    const eastings = lines.filter((line) => line.axis === 'easting').map((line) => line.metres);
    expect(eastings).toEqual(
      Array.from({ length: eastings.length }, (_, i) => Math.ceil(sw.easting / 100) * 100 + i * 100),
    );
    expect(Math.max(...eastings)).toBeLessThanOrEqual(ne.easting + 10);
    expect(eastings.length).toBeGreaterThanOrEqual(7);
    for (const line of lines) {
      for (const [lat, lon] of line.points) {
        const place = toUtm(lat, lon);
        expect(place[line.axis]).toBeCloseTo(line.metres, 1);
        expect(lat).toBeGreaterThanOrEqual(FIELD.south - 1e-9);
        expect(lon).toBeLessThanOrEqual(FIELD.east + 1e-9);
      }
    }
    expect(lines.filter((line) => line.major).every((line) => line.metres % 1000 === 0)).toBe(true);
  });

  it('ends each zone’s grid on the meridian between them', () => {
    const { lines, edges } = metricGrid({ south: 44, west: -96.02, north: 44.02, east: -95.98 }, 500);
    expect(edges).toHaveLength(1);
    expect(edges[0]).toMatchObject({ west: 14, east: 15 });
    for (const line of lines) {
      for (const [, lon] of line.points) {
        if (line.zone === 14) expect(lon).toBeLessThanOrEqual(-96 + 1e-9);
        else expect(lon).toBeGreaterThanOrEqual(-96 - 1e-9);
      }
    }
    expect(new Set(lines.map((line) => line.zone))).toEqual(new Set([14, 15]));
  });

  it('knows the zones of Norway and Svalbard, and the two sides of 180°', () => {
    const zones = (south: number, west: number, north: number, east: number) =>
      zoneParts({ south, west, north, east }).map((part) => part.zone);
    expect(zones(60, 4, 60.1, 5)).toEqual([32]);
    expect(zones(78, 8, 78.1, 22)).toEqual([31, 33, 35]);
    expect(zones(-17, 179.9, -16.9, 180.1)).toEqual([60, 1]);
    expect(zones(44, -98.22, 44.1, -98.2)).toEqual([14]);
  });

  it('labels kilometres large and hundreds of metres small', () => {
    expect(gridLabel(4_877_400, 100)).toEqual({ principal: '77', small: '4' });
    expect(gridLabel(563_050, 50)).toEqual({ principal: '63', small: '05' });
    expect(gridLabel(605_000, 1000)).toEqual({ principal: '05', small: '' });
  });

  it('takes the narrowest step that leaves room between lines, and none where there is no room', () => {
    expect(gridStep(0.1)).toBe(10);
    expect(gridStep(1.5)).toBe(100);
    expect(gridStep(10)).toBe(1000);
    expect(gridStep(5000)).toBeNull();
  });
});
