/**
 * Points whose grid references others have published. FGDC-STD-011-2001 section 5.2.2 and table 1 (Washington
 * Monument), GeographicLib (GeoConvert documentation), NGA GEOTRANS.
 */
import { describe, expect, it } from 'vitest';
import { fromUsng, toUsng, toUsngSpoken, type UsngDigits } from '../../shared/map/usng.ts';
import { fromUtm, toUtm } from '../../shared/map/utm.ts';

const MONUMENT = { lat: 38.889467309501576, lon: -77.0352402156242 };

describe('USNG references', () => {
  it.each([
    [5, '18SUJ2348306479'],
    [4, '18SUJ23480647'],
    [3, '18SUJ234064'],
    [2, '18SUJ2306'],
    [1, '18SUJ20'],
    [0, '18SUJ'],
  ] as const)('FGDC-STD-011-2001 table 1, %i digits: %s', (digits: UsngDigits, text) => {
    expect(toUsng(MONUMENT.lat, MONUMENT.lon, digits)).toBe(text);
  });

  it('groups for reading aloud', () => {
    expect(toUsngSpoken(MONUMENT.lat, MONUMENT.lon, 4)).toBe('18S UJ 2348 0647');
    expect(toUsngSpoken(MONUMENT.lat, MONUMENT.lon, 0)).toBe('18S UJ');
  });

  it.each([
    ['GeographicLib', 40.446111, -79.982222, 5, '17TNE8630977770'],
    ['NGA GEOTRANS', 19.4326, -99.1332, 5, '14QMG8601748700'],
    ['NGA GEOTRANS', 51.5074, -0.1278, 3, '30UXC993101'],
  ] as const)('%s: %f, %f', (_source, lat, lon, digits, text) => {
    expect(toUsng(lat, lon, digits)).toBe(text);
  });

  it('names the square, with its centre as the place', () => {
    const square = fromUsng('18S UJ 2348 0647');
    expect(square.ok && square.sizeM).toBe(10);
    if (!square.ok) return;
    expect([square.southWest.easting, square.southWest.northing]).toEqual([323_480, 4_306_470]);
    const centre = toUtm(square.lat, square.lon);
    expect(centre.easting).toBeCloseTo(323_485, 5);
    expect(centre.northing).toBeCloseTo(4_306_475, 5);
  });

  it.each([
    ['17TNE863097777', 'digits-odd'],
    ['17INE8630977770', 'letter'],
    ['17TNO8630977770', 'letter'],
    ['61TNE86', 'zone'],
    ['00TNE86', 'zone'],
    ['32XNE86', 'zone'],
    ['18SUJ234831680647', 'digits-many'],
    ['18SAJ', 'letter'],
    ['18S', 'form'],
    ['', 'form'],
    ['40.1, -79.9', 'form'],
  ])('refuses %s: %s', (text, code) => {
    expect(fromUsng(text)).toEqual({ ok: false, code });
  });

  it('has no reference where the grid ends', () => {
    expect(toUsng(84.5, 10)).toBeNull();
    expect(toUsng(-81, 10)).toBeNull();
    expect(toUsng(Number.NaN, 10)).toBeNull();
  });
});

describe('UTM', () => {
  it.each([
    ['Washington Monument, FGDC-STD-011-2001', MONUMENT.lat, MONUMENT.lon, 18, 323_483.168, 4_306_479.498],
    ['GeographicLib', 40.446111, -79.982222, 17, 586_309.953, 4_477_770.428],
  ] as const)('%s to the millimetre', (_source, lat, lon, zone, easting, northing) => {
    const place = toUtm(lat, lon);
    expect(place.zone).toBe(zone);
    expect(Math.abs(place.easting - easting)).toBeLessThan(0.001);
    expect(Math.abs(place.northing - northing)).toBeLessThan(0.001);
    const back = fromUtm(place);
    expect(back.lat).toBeCloseTo(lat, 11);
    expect(back.lon).toBeCloseTo(lon, 11);
  });
});
