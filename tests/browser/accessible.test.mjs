// WCAG 2.2 AA by axe-core, target sizes, overflow, and pictures, at every size the page is made for.
import assert from "node:assert/strict";
import { mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import test from "node:test";
import { open, richEvening, row, sizes, skip } from "./harness.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const shots = process.env.NAPPE_SHOTS;
if (shots) mkdirSync(shots, { recursive: true });

async function violations(page) {
  // The page's policy forbids scripts from elsewhere; the debugger's evaluation is not bound by it.
  await page.evaluate(axe);
  const found = await page.evaluate(() =>
    globalThis.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }),
  );
  return found.violations.map(({ id, help, nodes }) => ({ id, help, where: nodes.map((node) => node.target.join(" ")) }));
}

/** Buttons and fields smaller than a finger (WCAG 2.2 2.5.5: 44 by 44). */
function smallTargets(page) {
  return page.evaluate(() =>
    [...document.querySelectorAll("button, input[type=text]")]
      .map((element) => ({ name: element.getAttribute("aria-label") ?? element.textContent, box: element.getBoundingClientRect() }))
      .filter(({ box }) => box.width > 0 && (box.width < 43.5 || box.height < 43.5))
      .map(({ name, box }) => `${name}: ${box.width} x ${box.height}`),
  );
}

/** Row 51 as the eye sees it: what is drawn in a colour (no grey, no paper, no ink) outside the one accent. */
function coloured(page) {
  return page.evaluate(() => {
    const strong = (text) => {
      const [r, g, b, a = 1] = (text.match(/[\d.]+/g) ?? []).map(Number);
      return r !== undefined && a > 0.05 && Math.max(r, g, b) - Math.min(r, g, b) > 60;
    };
    return [...document.querySelectorAll("body *")]
      .filter((element) => element.closest(".accent") === null && element.getClientRects().length > 0)
      .filter((element) => {
        const style = getComputedStyle(element);
        return ["color", "backgroundColor", "borderTopColor", "stroke", "fill"].some((name) => strong(style[name]));
      })
      .map((element) => `${element.tagName}.${element.getAttribute("class") ?? ""}: ${element.textContent.slice(0, 30)}`);
  });
}

const scenes = {
  night: async () => {},
  // The one coloured thing in a late table's row, and where plates stand.
  row: async (page, _server, evening) => {
    evening.colour = "4-mains";
    await page.waitForSelector(".row .accent");
  },
  stands: async (page, _server, evening) => {
    evening.colour = "1-mains";
    await page.waitForSelector(".stands.accent");
  },
  help: async (page, _server, evening) => {
    evening.colour = "a3";
    await page.keyboard.press("?");
    await page.waitForSelector("dialog[open]");
  },
  hand: async (page) => {
    await page.keyboard.press("Escape");
    await page.click(row("4-mains"));
    await page.waitForSelector(".hand");
  },
  cut: async (page, server) => {
    await page.keyboard.press("Escape");
    server.cut();
    await page.waitForSelector(".link.cut");
    await page.focus(row("1-mains"));
    await page.keyboard.press("g");
  },
};

const example = (name) => JSON.parse(readFileSync(new URL(`../protocol/examples/${name}.json`, import.meta.url), "utf8"));
const floor = example("floor");
const station = example("station");
const to = (hash, what) => async (page, server) => {
  await page.goto(`${server.address}#/${hash}`);
  await page.waitForSelector(what);
};

/** The pages beside the pass, each with something chosen on it. */
const pages = {
  order: async (page, server) => {
    await to("order/7", ".card")(page, server);
    await page.keyboard.press("k");
    await page.keyboard.press("!");
    await page.waitForSelector(".allergens");
    await page.keyboard.press("g");
    await page.waitForSelector(".before >> text=tell the guest now");
    await page.keyboard.press("!");
    await page.waitForSelector(".can-be");
  },
  change: to("order/8", ".which"),
  seats: async (page, server) => {
    await to("table/7", ".table-page")(page, server);
    await page.locator(".seats button").first().click();
    await page.locator(`.seats button:has(b:text-is("4"))`).click();
    await page.waitForSelector(".sure");
  },
  counts: to("counts", ".counts li"),
  station: to("station/garnish", ".station li"),
};
const ask = (path, body) =>
  path === "/card"
    ? [200, { says: "not emmer (wheat); leek yes", dishes: { emmer: { answer: "no", says: "no emmer (wheat)" }, pear: { answer: "with_changes", says: "pear without crumb" } } }]
    : [200, { plates: 1, course: body.order.courses[0].course, could_ms: 0, word_ms: 1764966720000, load: { garnish: { name: "garnish", from_ms: 1764966600000, before: 0.5, after: 0.9, full: true } } }];

for (const size of ["tablet", "upright", "wall"]) {
  for (const dark of [false, true]) {
    test(`51, accessible: orders, tables, counts and a station, ${size}, ${dark ? "dark" : "light"}`, { skip }, async (t) => {
      const evening = richEvening();
      const documents = { pass: (now) => evening.document(now), floor: () => floor, "station:garnish": () => station };
      const { page, server } = await open(t, { size, dark, evening, documents, ask });
      for (const [scene, prepare] of Object.entries(pages)) {
        await prepare(page, server);
        await page.waitForTimeout(300);
        if (shots) await page.screenshot({ path: join(shots, `${size}-${scene}${dark ? "-dark" : ""}.png`) });
        assert.deepEqual(await violations(page), [], scene);
        assert.deepEqual(await smallTargets(page), [], scene);
        assert.ok((await page.locator(".accent").count()) <= 1, scene);
        assert.deepEqual(await coloured(page), [], `51: ${scene}: one coloured thing`);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(wide <= 0, `${scene}: the page is ${wide} px too wide`);
      }
    });
  }
}

for (const size of Object.keys(sizes)) {
  for (const dark of [false, true]) {
    test(`51, accessible: ${size}, ${dark ? "dark" : "light"}`, { skip }, async (t) => {
      const { page, server, evening } = await open(t, { size, dark });
      for (const [scene, prepare] of Object.entries(scenes)) {
        await prepare(page, server, evening);
        await page.waitForTimeout(450);
        if (shots) await page.screenshot({ path: join(shots, `${size}-${scene}${dark ? "-dark" : ""}.png`) });
        assert.deepEqual(await violations(page), [], scene);
        assert.deepEqual(await smallTargets(page), [], scene);
        assert.ok((await page.locator(".accent").count()) <= 1, scene);
        assert.deepEqual(await coloured(page), [], `51: ${scene}: one coloured thing`);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(wide <= 0, `${scene}: the page is ${wide} px too wide`);
      }
    });
  }
}
