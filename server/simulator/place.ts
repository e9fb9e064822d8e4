/**
 * Metres east and north of the scenario's origin as latitude and longitude on WGS 84. Series for the length of a
 * degree (good to a metre in 100 km), enough for a site of a few kilometres.
 */
export type Origin = { readonly lat: number; readonly lon: number };

/** Metres a degree of latitude and of longitude at `lat` degrees. */
export function metresPerDegree(lat: number): { lat: number; lon: number } {
  const phi = (lat * Math.PI) / 180;
  return {
    lat: 111_132.92 - 559.82 * Math.cos(2 * phi) + 1.175 * Math.cos(4 * phi) - 0.0023 * Math.cos(6 * phi),
    lon: 111_412.84 * Math.cos(phi) - 93.5 * Math.cos(3 * phi) + 0.118 * Math.cos(5 * phi),
  };
}

/** Latitude and longitude in degrees, to about a decimetre (6 decimals). */
export function toLatLon(origin: Origin, eastM: number, northM: number): { lat: number; lon: number } {
  const degree = metresPerDegree(origin.lat);
  return {
    lat: Number((origin.lat + northM / degree.lat).toFixed(6)),
    lon: Number((origin.lon + eastM / degree.lon).toFixed(6)),
  };
}
