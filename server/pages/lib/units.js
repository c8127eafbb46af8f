// Numbers, dates and lengths as the reader's place writes them.

import { language } from "./words.js";

const YARDS = ["US", "GB"];
const METRE_IN_YARDS = 1.0936133;

/** The reader's own way of writing where it is of the language the page speaks. */
const tag = () => (navigator.language.startsWith(language) ? navigator.language : language);

const region = () => (navigator.language.split("-")[1] ?? "").toUpperCase();

export const number = (value, digits = 0) =>
  new Intl.NumberFormat(tag(), { minimumFractionDigits: digits, maximumFractionDigits: digits })
    .format(Math.round(value * 10 ** digits) / 10 ** digits || 0); // never -0

export const day = (text) => new Intl.DateTimeFormat(tag(), { dateStyle: "medium" }).format(new Date(text));
export const moment = (text) =>
  new Intl.DateTimeFormat(tag(), { dateStyle: "medium", timeStyle: "short" }).format(new Date(text));

/** "2026-09" in words. */
export const month = (text) => new Intl.DateTimeFormat(tag(), { month: "long", year: "numeric", timeZone: "UTC" }).format(new Date(`${text}-15T00:00:00Z`));

export const clock = (text) => new Intl.DateTimeFormat(tag(), { timeStyle: "medium" }).format(new Date(text));

let collator = null;
/** Names in the order of the reader's language. */
export const byName = (a, b) => (collator ??= new Intl.Collator(tag())).compare(a, b);
/** Several things as one phrase: "a, b and c", "a, b or c". */
export const joined = (phrases, any = false) => new Intl.ListFormat(language, { type: any ? "disjunction" : "conjunction" }).format(phrases);

/** Days since an instant, whole. */
export const daysSince = (text) => Math.floor((Date.now() - new Date(text)) / 86400000);

/** A distance on the course: metres or yards by place. */
function distance(metres) {
  return YARDS.includes(region()) ? `${number(metres * METRE_IN_YARDS)} yd` : `${number(metres)} m`;
}

/** A measure's value with its unit: "12.4°", "8 cm", "34 %", "0.31". */
export function measure(value, unit) {
  if (unit === "deg") return `${number(value, 1)}°`;
  if (unit === "m") return `${number(100 * value)} cm`;
  if (unit === "%") return `${number(value)} %`;
  return number(value, unit === "count" ? 0 : 2);
}

/** What 19 of 20 lie within, in standard deviations. */
export const WITHIN = 1.96;
/** The smallest step that is written of a unit: an error is never told to be nothing. */
const STEP = { deg: 0.1, m: 0.01, "%": 1, count: 0.1 };
export function margin(sd, unit) {
  const error = Math.max(WITHIN * sd, STEP[unit] ?? 0.01);
  return `± ${unit === "count" ? number(error, 1) : measure(error, unit)}`;
}
