// Numbers and states in words. A temperature is never shown without its interval or the reason why there is none.

export const ZERO_CELSIUS = 273.15;
const MINUS = "−";

/** A number with so many decimals and a true minus sign; "unknown" for none. */
export function fixed(value, decimals = 1) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "unknown";
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace("-", "") : text.replace("-", MINUS);
}

/** A signed number. */
export function signed(value, decimals = 1) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "unknown";
  return (Number(value.toFixed(decimals)) > 0 ? "+" : "") + fixed(value, decimals);
}

/** Kelvin shown as degrees Celsius. */
export function celsius(kelvin, decimals = 1) {
  return fixed(kelvin - ZERO_CELSIUS, decimals);
}

/** "3.4 to 5.6 K": both ends of an interval. */
export function interval(low, high, unit, decimals = 1) {
  const end = (v, open) => (v === null || !Number.isFinite(v) ? open : fixed(v, decimals));
  return `${end(low, "no lower end")} to ${end(high, "no upper end")} ${unit}`;
}

/** "1 frame", "3 frames". */
export function count(n, one, many = `${one}s`) {
  return `${n} ${n === 1 ? one : many}`;
}

/** Share as whole per cent. */
export function percent(share, decimals = 0) {
  return `${fixed(100 * share, decimals)} %`;
}

/** 2026-04-16 06:12:03 UTC from seconds. */
export function moment(seconds) {
  if (seconds === null || seconds === undefined) return "time unknown";
  return `${new Date(1000 * seconds).toISOString().slice(0, 19).replace("T", " ")} UTC`;
}

/** Latitude, longitude in decimal degrees. */
export function place(lat, lon) {
  if (lat === null || lat === undefined) return "place unknown";
  return `${fixed(lat, 6)}, ${fixed(lon, 6)}`;
}

/** A first letter set large, as at the start of a sentence. */
export function sentence(text) {
  return text ? text[0].toUpperCase() + text.slice(1) : "";
}
