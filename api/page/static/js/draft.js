// What is worked on stays in this browser alone, and goes with one button: computers at
// schools are shared.

const prefix = 'partwright.';

// What does not fit into the browser's store lasts until the page is left.
const memory = new Map();

const toText = (bytes) => {
  let text = '';
  for (let i = 0; i < bytes.length; i += 0x8000) text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return btoa(text);
};

const toBytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));

// keep says whether it could be kept: browsers give a few megabytes, or none.
export function keep(name, value) {
  memory.set(name, value);
  try {
    localStorage.setItem(prefix + name, JSON.stringify(value, (_, v) => (v instanceof Uint8Array ? { bytes: toText(v) } : v)));
    return true;
  } catch {
    return false;
  }
}

export function kept(name) {
  if (memory.has(name)) return memory.get(name);
  try {
    return JSON.parse(localStorage.getItem(prefix + name), (_, v) => (v && typeof v.bytes === 'string' ? toBytes(v.bytes) : v)) ?? undefined;
  } catch {
    return undefined;
  }
}

export function clear() {
  memory.clear();
  try {
    for (const name of Object.keys(localStorage)) if (name.startsWith(prefix)) localStorage.removeItem(name);
  } catch { /* there is nothing to clear */ }
}
