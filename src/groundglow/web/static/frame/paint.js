// Numbers to pixels: value (and how far it moved) -> place on the scale -> colour. Nothing else happens a pixel.

const clamp = (k) => (k < 0 ? 0 : k > 255 ? 255 : k);

/** A canvas of the frame's own size, painted whole each time. */
export class Painter {
  constructor(canvas, width, height) {
    canvas.width = width;
    canvas.height = height;
    this.pen = canvas.getContext("2d", { alpha: false });
    this.image = this.pen.createImageData(width, height);
    this.pixels = new Uint32Array(this.image.data.buffer);
  }

  /** Values from `low` to `high`. */
  values(live, colours, low, high) {
    const scale = 256 / (high - low || 1);
    this.put(live, live.value, null, colours, scale, -low * scale);
  }

  /** Departure from the surroundings, `-span` to `+span`; the middle colour is none. */
  departures(live, colours, span) {
    this.put(live, live.departure, live.untouched ? null : live.moving.around, colours, 128 / span, 128);
  }

  /** Numbers, each moved as its key (less that of its surroundings) says, to colours. */
  put(live, numbers, around, colours, scale, add) {
    const { pixels } = this;
    const { key, move } = live.untouched ? { key: null, move: null } : live.moving;
    const { missing } = live;
    for (let i = 0; i < pixels.length; i += 1) {
      let v = numbers[i];
      if (key) v += move[key[i]];
      if (around) v -= move[around[i]];
      pixels[i] = v === v ? colours[clamp((v * scale + add) | 0)] : missing;
    }
    this.pen.putImageData(this.image, 0, 0);
  }
}

/** 256 colours as 32-bit pixels from [[r, g, b], ...]. */
export function colourTable(rgb) {
  const out = new Uint32Array(256);
  for (let i = 0; i < 256; i += 1) {
    const [r, g, b] = rgb[Math.round((i / 255) * (rgb.length - 1))];
    out[i] = 0xff000000 | (b << 16) | (g << 8) | r;
  }
  return out;
}

/** Paint the colours as a strip, for a legend. */
export function strip(canvas, colours) {
  canvas.width = 256;
  canvas.height = 1;
  const pen = canvas.getContext("2d", { alpha: false });
  const image = pen.createImageData(256, 1);
  new Uint32Array(image.data.buffer).set(colours);
  pen.putImageData(image, 0, 0);
}
