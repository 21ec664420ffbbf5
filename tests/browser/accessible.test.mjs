// WCAG 2.2 AA by axe-core, target sizes, overflow, and pictures, at every size the page is made for.
import assert from "node:assert/strict";
import { mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import test from "node:test";
import { open, row, sizes, skip } from "./harness.mjs";

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

for (const size of Object.keys(sizes)) {
  for (const dark of [false, true]) {
    test(`accessible: ${size}, ${dark ? "dark" : "light"}`, { skip }, async (t) => {
      const { page, server, evening } = await open(t, { size, dark });
      for (const [scene, prepare] of Object.entries(scenes)) {
        await prepare(page, server, evening);
        await page.waitForTimeout(450);
        if (shots) await page.screenshot({ path: join(shots, `${size}-${scene}${dark ? "-dark" : ""}.png`) });
        assert.deepEqual(await violations(page), [], scene);
        assert.deepEqual(await smallTargets(page), [], scene);
        assert.ok((await page.locator(".accent").count()) <= 1, scene);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(wide <= 0, `${scene}: the page is ${wide} px too wide`);
      }
    });
  }
}
