// Asks the server and holds every answer to its own description (OpenAPI 3.1, JSON Schema 2020-12 by ajv).
import assert from "node:assert/strict";
import { request } from "node:http";
import Ajv2020 from "ajv/dist/2020.js";
import addFormats from "ajv-formats";

export class Described {
  constructor(document) {
    this.document = document;
    this.seen = new Set();
    this.ajv = new Ajv2020.default({ strict: false, allErrors: true });
    addFormats.default(this.ajv);
    this.ajv.addSchema({ $id: "doc", ...document });
  }

  /** The path of the description that a real path belongs to. */
  template(path) {
    const bare = path.split("?")[0];
    const all = Object.keys(this.document.paths);
    return all.find((known) => known === bare) ?? all.find((known) => new RegExp(`^${known.replace(/\{[^}]+\}/g, "[^/]+")}$`).test(bare));
  }

  /** Checks an answer and remembers that this status of this path has been seen. */
  check(method, path, status, type, text) {
    const template = this.template(path);
    assert.ok(template, `${path} is not described`);
    const operation = this.document.paths[template][method.toLowerCase()];
    assert.ok(operation, `${method} ${template} is not described`);
    const response = operation.responses[status];
    assert.ok(response, `${method} ${path} answered ${status}, which is not described: ${text}`);
    this.seen.add(`${method} ${template} ${status}`);
    if (!response.content) return;
    const bare = type.split(";")[0].trim();
    const described = response.content[bare];
    assert.ok(described, `${method} ${path} ${status}: ${bare} is not described`);
    if (bare !== "application/json" && bare !== "application/problem+json") return;
    const pointer = ["paths", template, method.toLowerCase(), "responses", String(status), "content", bare, "schema"]
      .map((part) => part.replace(/~/g, "~0").replace(/\//g, "~1"))
      .map(encodeURIComponent)
      .join("/");
    const body = JSON.parse(text);
    const validate = this.ajv.getSchema(`doc#/${pointer}`) ?? this.ajv.compile({ $ref: `doc#/${pointer}` });
    assert.ok(validate(body), `${method} ${path} ${status}: ${JSON.stringify(validate.errors)} in ${text}`);
    if (bare === "application/problem+json") {
      assert.equal(body.status, status, "RFC 9457: the member says what the wire said");
      assert.ok(body.detail.length > 5 && !body.detail.includes("\n"), "one sentence");
    }
  }

  /** Everything described and not yet seen. */
  unseen() {
    const all = [];
    for (const [path, item] of Object.entries(this.document.paths)) {
      for (const [method, operation] of Object.entries(item)) {
        for (const status of Object.keys(operation.responses)) all.push(`${method.toUpperCase()} ${path} ${status}`);
      }
    }
    return all.filter((one) => !this.seen.has(one));
  }
}

/** One request with Node's own client, which sends what it is told. Answers status, headers, text. */
export function ask(base, method, path, { body, headers = {}, agent } = {}) {
  return new Promise((done, failed) => {
    const asked = request(base + path, { method, headers, agent }, (response) => {
      let text = "";
      response.setEncoding("utf8");
      response.on("data", (data) => (text += data));
      response.on("end", () => done({ status: response.statusCode, headers: response.headers, text }));
    });
    asked.on("upgrade", (response, socket) => {
      socket.destroy();
      done({ status: response.statusCode, headers: response.headers, text: "" });
    });
    asked.on("error", failed);
    asked.end(body);
  });
}
