// Written for any Node that knows modules at all, so that an old one can still say that it is too old.

var LEAST = [20, 19];

/** Why `version` (such as "18.2.0") cannot run Upwind, in one line, or null. */
export function whyTooOld(version) {
  var parts = version.split('.').map(Number);
  var enough = parts[0] > LEAST[0] || (parts[0] === LEAST[0] && parts[1] >= LEAST[1]);
  return enough ? null : `upwind: Node ${LEAST.join('.')} or newer is needed; this is ${version}`;
}
