/**
 * Universal Transverse Mercator on WGS 84: what the metric grid of the map and USNG are made of.
 * Krüger series to the sixth order in the third flattening: Karney, "Transverse Mercator with an accuracy of a few
 * nanometers", J. Geodesy 85 (2011), equations 35 and 36. Zones with the exceptions of Norway and Svalbard.
 */

/** A place in one zone's grid, metres. `south` says that the northing counts from 10,000,000 m at the equator. */
export type Utm = {
  readonly zone: number;
  readonly south: boolean;
  readonly easting: number;
  readonly northing: number;
};

/** UTM is used between these latitudes, degrees; the polar grids are not covered. */
export const UTM_SOUTH_LIMIT = -80;
export const UTM_NORTH_LIMIT = 84;

const SEMI_MAJOR_M = 6_378_137;
const FLATTENING = 1 / 298.257223563;
const SCALE = 0.9996;
const FALSE_EASTING_M = 500_000;
const FALSE_NORTHING_SOUTH_M = 10_000_000;

const ECCENTRICITY = Math.sqrt(FLATTENING * (2 - FLATTENING));
const n = FLATTENING / (2 - FLATTENING);
const [n2, n3, n4, n5, n6] = [n ** 2, n ** 3, n ** 4, n ** 5, n ** 6];
const RECTIFYING_M = (SEMI_MAJOR_M / (1 + n)) * (1 + n2 / 4 + n4 / 64 + n6 / 256);
const RADIANS = Math.PI / 180;

const FORWARD = [
  n / 2 - (2 * n2) / 3 + (5 * n3) / 16 + (41 * n4) / 180 - (127 * n5) / 288 + (7891 * n6) / 37800,
  (13 * n2) / 48 - (3 * n3) / 5 + (557 * n4) / 1440 + (281 * n5) / 630 - (1983433 * n6) / 1935360,
  (61 * n3) / 240 - (103 * n4) / 140 + (15061 * n5) / 26880 + (167603 * n6) / 181440,
  (49561 * n4) / 161280 - (179 * n5) / 168 + (6601661 * n6) / 7257600,
  (34729 * n5) / 80640 - (3418889 * n6) / 1995840,
  (212378941 * n6) / 319334400,
] as const;

const INVERSE = [
  n / 2 - (2 * n2) / 3 + (37 * n3) / 96 - n4 / 360 - (81 * n5) / 512 + (96199 * n6) / 604800,
  n2 / 48 + n3 / 15 - (437 * n4) / 1440 + (46 * n5) / 105 - (1118711 * n6) / 3870720,
  (17 * n3) / 480 - (37 * n4) / 840 - (209 * n5) / 4480 + (5569 * n6) / 90720,
  (4397 * n4) / 161280 - (11 * n5) / 504 - (830251 * n6) / 7257600,
  (4583 * n5) / 161280 - (108847 * n6) / 3991680,
  (20648693 * n6) / 638668800,
] as const;

/** Zone 1 to 60 of a place in degrees. Longitude 180 is in zone 1, as -180 is. */
export function utmZone(lat: number, lon: number): number {
  const wrapped = wrapLongitude(lon);
  if (lat >= 56 && lat < 64 && wrapped >= 3 && wrapped < 12) return 32;
  if (lat >= 72 && wrapped >= 0 && wrapped < 42) {
    if (wrapped < 9) return 31;
    if (wrapped < 21) return 33;
    return wrapped < 33 ? 35 : 37;
  }
  return Math.floor((wrapped + 180) / 6) + 1;
}

/** Longitude of the middle of a zone, degrees. */
export function centralMeridian(zone: number): number {
  return zone * 6 - 183;
}

/** Longitude brought to [-180, 180), degrees. */
export function wrapLongitude(lon: number): number {
  if (lon >= -180 && lon < 180) return lon; // not a digit is lost at the edge of a zone
  const turned = (((lon + 180) % 360) + 360) % 360;
  return turned - 180;
}

/**
 * Grid place of a point in degrees; in its own zone, or in the one that is given (to go on drawing a neighbour's
 * grid). The hemisphere follows the latitude, or `south` where it is given.
 */
export function toUtm(lat: number, lon: number, zone = utmZone(lat, lon), south = lat < 0): Utm {
  const phi = lat * RADIANS;
  const lambda = wrapLongitude(lon - centralMeridian(zone)) * RADIANS;
  const tau = conformal(Math.tan(phi));
  const xi0 = Math.atan2(tau, Math.cos(lambda));
  const eta0 = Math.asinh(Math.sin(lambda) / Math.hypot(tau, Math.cos(lambda)));
  let xi = xi0;
  let eta = eta0;
  FORWARD.forEach((alpha, i) => {
    const k = 2 * (i + 1);
    xi += alpha * Math.sin(k * xi0) * Math.cosh(k * eta0);
    eta += alpha * Math.cos(k * xi0) * Math.sinh(k * eta0);
  });
  return {
    zone,
    south,
    easting: FALSE_EASTING_M + SCALE * RECTIFYING_M * eta,
    northing: (south ? FALSE_NORTHING_SOUTH_M : 0) + SCALE * RECTIFYING_M * xi,
  };
}

/** Latitude and longitude in degrees of a grid place. */
export function fromUtm(place: Utm): { lat: number; lon: number } {
  const xi0 = (place.northing - (place.south ? FALSE_NORTHING_SOUTH_M : 0)) / (SCALE * RECTIFYING_M);
  const eta0 = (place.easting - FALSE_EASTING_M) / (SCALE * RECTIFYING_M);
  let xi = xi0;
  let eta = eta0;
  INVERSE.forEach((beta, i) => {
    const k = 2 * (i + 1);
    xi -= beta * Math.sin(k * xi0) * Math.cosh(k * eta0);
    eta -= beta * Math.cos(k * xi0) * Math.sinh(k * eta0);
  });
  const target = Math.sin(xi) / Math.hypot(Math.sinh(eta), Math.cos(xi));
  const lambda = Math.atan2(Math.sinh(eta), Math.cos(xi));
  return {
    lat: Math.atan(geodetic(target)) / RADIANS,
    lon: wrapLongitude(lambda / RADIANS + centralMeridian(place.zone)),
  };
}

/** Tangent of the conformal latitude from the tangent of the geodetic one. */
function conformal(tau: number): number {
  const sigma = Math.sinh(ECCENTRICITY * Math.atanh((ECCENTRICITY * tau) / Math.hypot(1, tau)));
  return tau * Math.hypot(1, sigma) - sigma * Math.hypot(1, tau);
}

/** The other way round, by Newton's method (Karney, equations 19 to 21); three steps reach the last digit. */
function geodetic(target: number): number {
  const rest = 1 - ECCENTRICITY ** 2;
  let tau = target;
  for (let step = 0; step < 6; step++) {
    const now = conformal(tau);
    const change = ((target - now) / Math.hypot(1, now)) * ((1 + rest * tau ** 2) / (rest * Math.hypot(1, tau)));
    tau += change;
    if (Math.abs(change) < 1e-15 * Math.max(1, Math.abs(tau))) break;
  }
  return tau;
}
