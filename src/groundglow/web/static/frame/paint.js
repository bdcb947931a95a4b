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

  /** Values from `low` to `high`; `move[key[i]]` is added to each. */
  values({ value, key, missing }, move, colours, low, high) {
    const { pixels } = this;
    const scale = 256 / (high - low || 1);
    for (let i = 0; i < pixels.length; i += 1) {
      const v = value[i] + move[key[i]];
      pixels[i] = v === v ? colours[clamp(((v - low) * scale) | 0)] : missing;
    }
    this.pen.putImageData(this.image, 0, 0);
  }

  /** Departure from the surroundings, `-span` to `+span`; the middle colour is none. */
  departures({ departure, key, around, missing }, move, colours, span) {
    const { pixels } = this;
    const scale = 128 / span;
    for (let i = 0; i < pixels.length; i += 1) {
      const v = departure[i] + move[key[i]] - move[around[i]];
      pixels[i] = v === v ? colours[clamp((v * scale + 128) | 0)] : missing;
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
