// Paper as a reader holds it: a PDF made by chromium, measured by poppler's tools. Lengths are points (1/72 inch).
import { execFileSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { join } from "node:path";

import { shots } from "./support.mjs";

export const SIZES = { A4: [595.3, 841.9], Letter: [612, 792] };
const DPI = 72;

const plain = (text) => text.replace(/&lt;/g, "<").replace(/&gt;/g, ">").replace(/&quot;/g, '"').replace(/&#39;|&apos;/g, "'").replace(/&amp;/g, "&");
const numbers = (text, names) => names.map((name) => Number(new RegExp(`${name}="([-\\d.]+)"`).exec(text)[1]));

/** Every page's words with their boxes, from the page's upper left corner. */
function words(path) {
  const said = execFileSync("pdftotext", ["-bbox", path, "-"], { encoding: "utf8", maxBuffer: 1 << 26 });
  return said.split("<page ").slice(1).map((part) => {
    const [width, height] = numbers(part, ["width", "height"]);
    const found = [...part.matchAll(/<word ([^>]*)>([^<]*)<\/word>/g)].map(([, box, text]) => {
      const [x0, y0, x1, y1] = numbers(box, ["xMin", "yMin", "xMax", "yMax"]);
      return { text: plain(text), x0, y0, x1, y1 };
    });
    return { width, height, words: found };
  });
}

/** One page's pixels, DPI of them an inch: {width, height, at(x, y) -> [r, g, b]}. */
function pixels(path, page) {
  const raw = execFileSync("pdftoppm", ["-r", String(DPI), "-aaVector", "no", "-f", String(page), "-l", String(page), path], { maxBuffer: 1 << 26 });
  const [head, width, height] = /^P6\s+(\d+)\s+(\d+)\s+255\s/.exec(raw.toString("latin1", 0, 40));
  return { width: Number(width), height: Number(height), at: (x, y) => { const i = head.length + 3 * (y * width + x); return [raw[i], raw[i + 1], raw[i + 2]]; } };
}

/** Prints a page; the sheets are kept as pictures beside the screenshots for a person to look at. */
export async function print(page, name, options) {
  mkdirSync(shots, { recursive: true });
  const path = join(shots, `${name}.pdf`);
  await page.pdf({ path, ...options });
  execFileSync("pdftoppm", ["-r", "70", "-png", path, join(shots, name)]);
  const pages = words(path);
  pages.forEach((sheet, i) => { sheet.pixels = pixels(path, i + 1); });
  return pages;
}

/** Each of these elements gets an edge of a colour of its own, inside its box, so that it can be found on paper. */
export async function tint(page, selector) {
  return page.evaluate((wanted) => {
    const shown = [...document.querySelectorAll(wanted)];
    return shown.map((node, i) => {
      const colour = [120 + 25 * (i % 6), 10 + 25 * (Math.floor(i / 6) % 6), 250 - 30 * Math.floor(i / 36)];
      node.style.outline = `4px solid rgb(${colour})`;
      node.style.outlineOffset = "-5px";
      return { colour, text: (node.querySelector("h1, h2, h3, strong")?.textContent ?? node.getAttribute("aria-label") ?? node.tagName).slice(0, 40) };
    });
  }, selector);
}

export const untint = (page) => page.evaluate(() => {
  for (const node of document.querySelectorAll("[style*=outline]")) node.style.outline = node.style.outlineOffset = "";
});

/** Where a colour stands: [{page, x0, y0, x1, y1}], one box a page, in points. */
export function seen(pages, [r, g, b]) {
  return pages.flatMap(({ pixels: sheet }, page) => {
    const box = { page, x0: Infinity, y0: Infinity, x1: -1, y1: -1 };
    for (let y = 0; y < sheet.height; y++) {
      for (let x = 0; x < sheet.width; x++) {
        const [pr, pg, pb] = sheet.at(x, y);
        if (Math.abs(pr - r) > 3 || Math.abs(pg - g) > 3 || Math.abs(pb - b) > 3) continue;
        box.x0 = Math.min(box.x0, x);
        box.x1 = Math.max(box.x1, x + 1);
        box.y0 = Math.min(box.y0, y);
        box.y1 = Math.max(box.y1, y + 1);
      }
    }
    return box.x1 < 0 ? [] : [box];
  });
}

/** How dark it gets within a box of a page: 0 black, 255 white. */
export function darkest({ pixels: sheet }, { x0, y0, x1, y1 }) {
  let least = 255;
  for (let y = Math.max(0, Math.floor(y0)); y < Math.min(sheet.height, Math.ceil(y1)); y++) {
    for (let x = Math.max(0, Math.floor(x0)); x < Math.min(sheet.width, Math.ceil(x1)); x++) {
      const [r, g, b] = sheet.at(x, y);
      least = Math.min(least, 0.2126 * r + 0.7152 * g + 0.0722 * b);
    }
  }
  return least;
}

/** The share of a page that is paper: white, or next to it. */
export function white({ pixels: sheet }) {
  let blank = 0;
  for (let y = 0; y < sheet.height; y++) for (let x = 0; x < sheet.width; x++) blank += Math.min(...sheet.at(x, y)) > 245;
  return blank / (sheet.width * sheet.height);
}
