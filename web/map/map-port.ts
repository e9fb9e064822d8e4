/**
 * All that the page knows of the map library: mount, update, destroy. The library holds the view (pan, zoom,
 * keys, touch) and later layers; grid and monitors are drawn by us on one canvas over it.
 */
import L from 'leaflet';
import 'leaflet/dist/leaflet.css';
import { toUsngSpoken } from '../../shared/map/usng.ts';
import { drawGround, drawMargin, type Ground, scaleBox } from './draw-ground.ts';
import { type DrawnMark, drawMonitors } from './draw-monitors.ts';
import type { Box } from './map-labels.ts';
import { readPalette } from './map-palette.ts';
import { type MapMark, placesToFit } from './map-scene.ts';

/** What a view says about itself, for the line under the map. */
export type MapReadout = {
  /** Null until there was a position to show. */
  readonly centre: string | null;
  readonly pointer: string | null;
  readonly gridStepM: number | null;
  readonly outside: number;
  readonly unlabelled: number;
};
export type MapHandlers = {
  /** A marker was tapped, or the ground beside all markers (null). */
  readonly select: (id: string | null) => void;
  readonly readout: (readout: MapReadout) => void;
  /** What lies over the map, in its pixels: no label is put behind it. */
  readonly overlays: () => readonly Box[];
};
export type MapPort = {
  /** Marks in the order of their weight, the most pressing first. */
  update(marks: readonly MapMark[], selected: string | null): void;
  fitAll(): void;
  centreOn(lat: number, lon: number): void;
  zoomBy(steps: number): void;
  /** Colours changed. */
  repaint(): void;
  destroy(): void;
};

/** Before the first drawing. */
export const NO_READOUT: MapReadout = {
  centre: null,
  pointer: null,
  gridStepM: null,
  outside: 0,
  unlabelled: 0,
};

const TAP_PX = 28;
const EARTH_PX_M = 156_543.03392;
/** The library wants a view before there is any position; nothing of it is drawn until there is one. */
const NOWHERE = { lat: 0, lon: 0, zoom: 10 };

/** Puts a map into `host`, which has a size of its own. */
export function mountMap(host: HTMLElement, handlers: MapHandlers): MapPort {
  const map = L.map(host, {
    preferCanvas: true,
    attributionControl: false,
    zoomControl: false,
    // One canvas is redrawn at each step; a scaled picture of old labels in between would only blur them.
    zoomAnimation: false,
    fadeAnimation: false,
    zoomSnap: 0.25,
    keyboardPanDelta: 100,
    minZoom: 10,
    maxZoom: 23,
    worldCopyJump: true,
  });
  map.setView([NOWHERE.lat, NOWHERE.lon], NOWHERE.zoom);
  const canvas = document.createElement('canvas');
  canvas.className = 'map-canvas';
  canvas.setAttribute('aria-hidden', 'true');
  host.append(canvas);

  let palette = readPalette(host);
  let marks: readonly MapMark[] = [];
  let selected: string | null = null;
  let drawn: readonly DrawnMark[] = [];
  let readout: MapReadout = NO_READOUT;
  let fitted = false;
  let asked = 0;
  let gone = false;
  const slots = new Map<string, number>();

  function ask(): void {
    if (asked === 0 && !gone) asked = requestAnimationFrame(draw);
  }

  function draw(): void {
    asked = 0;
    const ground = prepare();
    if (!ground) return;
    if (!fitted) {
      // A grid of nowhere in particular would look like the place of the incident.
      ground.context.fillStyle = palette.ground;
      ground.context.fillRect(0, 0, ground.width, ground.height);
      return;
    }
    const grid = drawGround(ground);
    drawn = drawMonitors(ground, marks, selected, slots, [...handlers.overlays(), scaleBox(ground)]);
    drawMargin(ground, grid);
    readout = { ...readout, ...viewFacts(grid.stepM) };
    handlers.readout(readout);
  }

  function viewFacts(gridStepM: number | null): Omit<MapReadout, 'pointer'> {
    const placed = marks.filter((mark) => mark.place !== null);
    const centre = map.getCenter().wrap();
    return {
      centre: toUsngSpoken(centre.lat, centre.lng) ?? 'beyond the grid',
      gridStepM,
      outside: placed.length - drawn.length,
      unlabelled: drawn.filter(({ label }) => label === null).length,
    };
  }

  function pointAt(at: L.LatLng | null): void {
    if (!fitted) return;
    readout = { ...readout, pointer: at && toUsngSpoken(at.lat, at.wrap().lng) };
    handlers.readout(readout);
  }

  function prepare(): Ground | null {
    const { x: width, y: height } = map.getSize();
    const ratio = window.devicePixelRatio;
    if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
      canvas.width = Math.round(width * ratio);
      canvas.height = Math.round(height * ratio);
      canvas.style.width = `${width}px`;
      canvas.style.height = `${height}px`;
    }
    const context = canvas.getContext('2d');
    if (!context || width === 0 || height === 0) return null;
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    const zoom = map.getZoom();
    const corner = map.project(map.containerPointToLatLng([0, 0]), zoom);
    const bounds = map.getBounds();
    return {
      context,
      width,
      height,
      palette,
      project: (lat, lon) => {
        const at = map.project([lat, lon], zoom);
        return [at.x - corner.x, at.y - corner.y];
      },
      view: {
        south: bounds.getSouth(),
        west: bounds.getWest(),
        north: bounds.getNorth(),
        east: bounds.getEast(),
      },
      metresPerPixel: (EARTH_PX_M * Math.cos((map.getCenter().lat * Math.PI) / 180)) / 2 ** zoom,
    };
  }

  function fitAll(): void {
    const places = placesToFit(marks);
    if (places.length === 0) return;
    fitted = true;
    const bounds = L.latLngBounds(places.map(({ lat, lon }) => [lat, lon]));
    map.fitBounds(bounds, {
      paddingTopLeft: [110, 90],
      paddingBottomRight: [170, 110],
      maxZoom: 18,
      animate: false,
    });
  }

  function tapped(event: L.LeafletMouseEvent): void {
    const { x, y } = event.containerPoint;
    const inLabel = drawn.find(
      ({ label }) => label && x >= label.x && x <= label.x + label.width && y >= label.y && y <= label.y + label.height,
    );
    const away = (one: DrawnMark) => Math.hypot(one.x - x, one.y - y);
    const nearest = drawn.filter((one) => away(one) <= TAP_PX).sort((a, b) => away(a) - away(b))[0];
    handlers.select((inLabel ?? nearest)?.id ?? null);
  }

  map.on('move zoom resize viewreset', ask);
  map.on('click', tapped);
  map.on('mousemove', (event) => pointAt(event.latlng));
  map.on('mouseout', () => pointAt(null));
  const sizes = new ResizeObserver(() => map.invalidateSize({ animate: false }));
  sizes.observe(host);
  // Labels are measured with the page's typeface, which may come later than the first drawing.
  void document.fonts.ready.then(ask);
  ask();

  return {
    update(next, chosen) {
      marks = next;
      selected = chosen;
      if (!fitted) fitAll();
      ask();
    },
    fitAll,
    centreOn: (lat, lon) => map.panTo([lat, lon], { animate: false }),
    zoomBy: (steps) => map.setZoom(map.getZoom() + steps, { animate: false }),
    repaint() {
      palette = readPalette(host);
      ask();
    },
    destroy() {
      gone = true;
      if (asked !== 0) cancelAnimationFrame(asked);
      sizes.disconnect();
      map.remove();
      canvas.remove();
    },
  };
}
