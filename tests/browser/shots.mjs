// Pictures of the page, for looking at: node shots.mjs FOLDER [name ...]
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { launch_options, root } from "./browser.mjs";
import { demo_alert, Evening } from "./evening.mjs";
import { FakeServer } from "./fake_server.mjs";

const folder = process.argv[2];
const wanted = process.argv.slice(3);
mkdirSync(folder, { recursive: true });
// A Friday at 20:23:40 (UTC, as the browser is told).
const start_ms = Date.UTC(2025, 10, 28, 20, 23, 40);
const sizes = { tablet: [1180, 820], upright: [820, 1180], laptop: [1440, 900], wall: [1920, 1080] };
const browser = await chromium.launch(launch_options);
for (const [size, [width, height]] of Object.entries(sizes)) {
  for (const dark of [false, true]) {
    for (const scene of ["night", "hand", "cut"]) {
      const name = `${size}-${scene}${dark ? "-dark" : ""}`;
      if (wanted.length > 0 && !wanted.includes(name)) continue;
      const evening = new Evening({ start_ms });
      evening.alerts = { a3: { ...demo_alert, since_ms: start_ms - 25_000 } };
      evening.colour = "a3";
      const server = await new FakeServer({
        root,
        start_ms,
        documents: { pass: (now) => evening.document(now) },
        obey: (action, now) => evening.obey(action, now),
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
