// Numbers, dates and lengths as the reader's place writes them.

import { language } from "./words.js";

const YARDS = ["US", "GB"];
const METRE_IN_YARDS = 1.0936133;

/** The reader's own way of writing where it is of the language the page speaks. */
const tag = () => (navigator.language.startsWith(language) ? navigator.language : language);

const region = () => (navigator.language.split("-")[1] ?? "").toUpperCase();

export const number = (value, digits = 0) =>
  new Intl.NumberFormat(tag(), { minimumFractionDigits: digits, maximumFractionDigits: digits }).format(value);

export const day = (text) => new Intl.DateTimeFormat(tag(), { dateStyle: "medium" }).format(new Date(text));
export const moment = (text) =>
  new Intl.DateTimeFormat(tag(), { dateStyle: "medium", timeStyle: "short" }).format(new Date(text));

/** Days since an instant, whole. */
export const daysSince = (text) => Math.floor((Date.now() - new Date(text)) / 86400000);

/** A distance on the course: metres or yards by place. */
export function distance(metres) {
  return YARDS.includes(region()) ? `${number(metres * METRE_IN_YARDS)} yd` : `${number(metres)} m`;
}

/** A measure's value with its unit: "12.4°", "0.08 m", "34 %", "0.31". */
export function measure(value, unit) {
  if (unit === "deg") return `${number(value, 1)}°`;
  if (unit === "m") return `${number(value, 2)} m`;
  if (unit === "%") return `${number(value)} %`;
  return number(value, unit === "count" ? 0 : 2);
}

/** What 19 of 20 lie within. */
export const margin = (sd, unit) => `± ${measure(1.96 * sd, unit)}`;
