// Where the browser and the built page are.
import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";

export const executable = process.env.CHROMIUM ?? "/usr/bin/chromium";
export const there = existsSync(executable);
export const root = fileURLToPath(new URL("../../web/dist", import.meta.url));

export const launch_options = {
  executablePath: executable,
  headless: true,
  args: [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--disable-extensions",
    "--no-first-run",
    "--no-default-browser-check",
    "--metrics-recording-only",
    "--disable-domain-reliability",
    "--disable-features=OptimizationHints,MediaRouter,Translate,AutofillServerCommunication",
    "--force-color-profile=srgb",
  ],
};
