// JSON Merge Patch, RFC 7396.

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };

function isObject(value: Json | undefined): value is { [key: string]: Json } {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/**
 * `target` with `patch` merged in (RFC 7396 section 2). Neither is changed: what the patch does not touch is shared with
 * the result, so that whatever is drawn from it can be compared by identity.
 */
export function mergePatch(target: Json | undefined, patch: Json): Json {
  if (!isObject(patch)) return patch;
  // Own properties only, and "__proto__" as an ordinary name: a document is data, never a prototype.
  const merged = new Map<string, Json>(isObject(target) ? Object.entries(target) : []);
  for (const [name, value] of Object.entries(patch)) {
    if (value === null) merged.delete(name);
    else merged.set(name, mergePatch(merged.get(name), value));
  }
  return Object.fromEntries(merged);
}
