/** A steady beat from a thread that browsers do not slow down when the page is hidden. */
const EVERY_MS = 250;

setInterval(() => postMessage(0), EVERY_MS);
