// Pictures of the page, for looking at: node shots.mjs FOLDER [name ...]
import { mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { launch_options, root } from "./browser.mjs";
import { demo_alert, Evening } from "./evening.mjs";
import { FakeServer } from "./fake_server.mjs";

const floor = JSON.parse(readFileSync(new URL("../protocol/examples/floor.json", import.meta.url), "utf8"));
const station = JSON.parse(readFileSync(new URL("../protocol/examples/station.json", import.meta.url), "utf8"));
const card = {
  says: "not emmer (wheat), mackerel (oats); leek yes; hogget yes; pollack yes; mushroom yes; pear without crumb",
  dishes: {
    emmer: { answer: "no", says: "no emmer (wheat)" },
    mackerel: { answer: "no", says: "no mackerel (oats)" },
    pear: { answer: "with_changes", says: "pear without crumb" },
  },
};
const folder = process.argv[2];
const wanted = process.argv.slice(3);
mkdirSync(folder, { recursive: true });
// A Friday at 20:23:40 (UTC, as the browser is told).
const start_ms = Date.UTC(2025, 10, 28, 20, 23, 40);
const sizes = { tablet: [1180, 820], upright: [820, 1180], laptop: [1440, 900], wall: [1920, 1080] };
const browser = await chromium.launch(launch_options);
for (const [size, [width, height]] of Object.entries(sizes)) {
  for (const dark of [false, true]) {
    for (const scene of ["night", "hand", "cut", "plate", "order", "change", "seats", "counts", "station"]) {
      const name = `${size}-${scene}${dark ? "-dark" : ""}`;
      if (wanted.length > 0 && !wanted.includes(name)) continue;
      const evening = new Evening({ start_ms });
      evening.alerts = { a3: { ...demo_alert, since_ms: start_ms - 25_000 } };
      evening.colour = "a3";
      evening.lend = { loin: { what: "loin", ticket: 99, table: "11", until_ms: start_ms + 300_000 } };
      const server = await new FakeServer({
        root,
        start_ms,
        documents: { pass: (now) => evening.document(now), floor: () => floor, "station:garnish": () => station },
        obey: (action, now) => evening.obey(action, now),
        ask: (path) =>
          path === "/draft"
            ? [200, { plates: 5, course: "starters", word_ms: start_ms + 900_000, load: { garnish: { name: "garnish", from_ms: start_ms, before: 0.41, after: 0.61, full: false } } }]
            : [200, card],
      }).listen();
      const page = await browser.newPage({
        viewport: { width, height },
        colorScheme: dark ? "dark" : "light",
        timezoneId: "UTC",
        serviceWorkers: "block",
      });
      page.on("console", (message) => console.log(name, message.text()));
      page.on("pageerror", (error) => console.log(name, String(error)));
      await page.goto(server.address);
      await page.waitForSelector(".row");
      await page.waitForTimeout(700);
      if (scene === "hand") await page.click(".row[data-key='4-mains'] .gutter");
      if (scene === "plate") {
        await page.click(".row[data-key='4-mains'] .gutter");
        await page.click(".plates li:nth-child(2) button");
      }
      if (scene === "order") {
        await page.click(".order-link");
        await page.click(".order-tables button:has-text('6 seats')");
        await page.click("text=a new ticket");
        for (const [position, dish] of [
          [1, "emmer"],
          [1, "hogget"],
          [2, "mackerel"],
          [2, "pollack"],
          [4, "leek"],
        ]) {
          await page.click(`.seats button:has(b:text-is("${position}"))`);
          await page.click(`.card button:has-text("${dish}")`);
        }
        await page.click("text=must not eat");
        await page.click(".allergens button:has-text('gluten')");
      }
      if (scene === "change") await page.goto(`${server.address}#/order/8`);
      if (scene === "counts") await page.goto(`${server.address}#/counts`);
      if (scene === "station") await page.goto(`${server.address}#/station/garnish`);
      if (scene === "seats") {
        await page.goto(`${server.address}#/table/7`);
        await page.click(`.seats button:has(b:text-is("1"))`);
        await page.click(`.seats button:has(b:text-is("4"))`);
      }
      if (scene === "cut") {
        server.cut();
        await page.waitForTimeout(1500);
        await page.focus(".row");
        await page.keyboard.press("g");
      }
      await page.waitForTimeout(500);
      await page.screenshot({ path: join(folder, `${name}.png`) });
      await page.close();
      await server.stop();
    }
  }
}
await browser.close();
