// The entries that wait in this browser, each under a name of its own, so that two pages never write over each other.
// Codes and numbers alone are kept here, never a name or a sentence: the device may be anybody's. An entry that holds
// words waits on its page alone, and is gone with it.
const PLACE = "ward-entry:";
const onPage = new Map();

const holdsWords = ({ fields }) => Boolean(fields.words) || Boolean(fields.given_by && fields.given_by !== "not known");

/** How many entries wait on this page alone, since they hold words. */
export const onPageAlone = () => onPage.size;

export const newId = () => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
};

/** So many entries in words: `one` for a single one, `many` with its number in the place of #. */
export const inWords = (count, { one, many }) => (count === 1 ? one : many.replace("#", count));

/** Write an entry down; false where this browser keeps nothing. */
export const writeDown = (entry) => {
  if (holdsWords(entry)) return Boolean(onPage.set(entry.id, entry));
  try {
    localStorage.setItem(PLACE + entry.id, JSON.stringify(entry));
    return true;
  } catch {
    return false;
  }
};

export const takeOff = (entry) => {
  if (!onPage.delete(entry.id)) localStorage.removeItem(PLACE + entry.id);
};

const kept = () => {
  try {
    return Object.keys(localStorage)
      .filter((name) => name.startsWith(PLACE))
      .map((name) => JSON.parse(localStorage.getItem(name)))
      .filter((entry) => entry !== null);
  } catch {
    return [];
  }
};

/** Every entry that waits here, in the order of writing. */
export const waiting = () =>
  [...kept(), ...onPage.values()].sort((one, other) => one.at - other.at || (one.id < other.id ? -1 : 1));
