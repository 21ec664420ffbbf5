import { createHash } from "node:crypto";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { defineConfig, type Plugin } from "vite";

/** Tells the service worker which files make the page, and which build this is. */
function shellList(): Plugin {
  return {
    name: "shell-list",
    apply: "build",
    closeBundle() {
      const dist = join(import.meta.dirname, "dist");
      const files = readdirSync(dist, { recursive: true, withFileTypes: true })
        .filter((entry) => entry.isFile() && entry.name !== "sw.js")
        .map((entry) => join(entry.parentPath, entry.name).slice(dist.length + 1))
        .sort();
      const digest = createHash("sha256");
      for (const file of files) digest.update(file).update(readFileSync(join(dist, file)));
      const shell = ["./", ...files.filter((file) => file !== "index.html")];
      const worker = join(dist, "sw.js");
      writeFileSync(
        worker,
        readFileSync(worker, "utf8")
          .replace("__BUILD__", digest.digest("hex").slice(0, 16))
          .replace("__SHELL__", JSON.stringify(shell)),
      );
    },
  };
}

export default defineConfig({
  base: "./",
  plugins: [shellList()],
  build: {
    target: "es2022",
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
    reportCompressedSize: true,
  },
});
