// The merge patch that leads from one document to another.

const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

/** The merge patch (RFC 7396) from one document to another; undefined when they are equal. */
export function difference(from, to) {
  if (!isObject(from) || !isObject(to)) return JSON.stringify(from) === JSON.stringify(to) ? undefined : to;
  const patch = {};
  for (const name of Object.keys(from)) if (!(name in to)) patch[name] = null;
  for (const [name, value] of Object.entries(to)) {
    const change = name in from ? difference(from[name], value) : value;
    if (change !== undefined) patch[name] = change;
  }
  return Object.keys(patch).length === 0 ? undefined : patch;
}
