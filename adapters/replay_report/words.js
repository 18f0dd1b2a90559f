// Numbers, days and names as they are shown.

const OUTCOMES = ["clear", "note", "caution", "incomplete", "clarify", "hold"];
const MEANING = {
  clear: "every rule was checked and none had anything to say",
  note: "worth knowing",
  caution: "read before dispensing",
  incomplete: "a rule that could ask or stop could not be checked for lack of data",
  clarify: "ask the prescriber first",
  hold: "do not dispense as it stands",
};
const UNKNOWN = "not known";

// Characters that draw nothing or turn the direction of writing; shown, so that a text is what it looks like.
const UNSEEN = /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]/g;

function visible(text) {
  return String(text).replace(UNSEEN, (sign) =>
    "[U+" + sign.codePointAt(0).toString(16).toUpperCase().padStart(4, "0") + "]");
}

function isNumber(value) {
  return typeof value === "number" && Number.isFinite(value);
}

// 11000 as 11,000
function count(value) {
  if (!isNumber(value)) return UNKNOWN;
  return String(value).replace(/\B(?=(\d{3})+(?!\d))/g, ",");
}

function quantity(value, one, many = one + "s") {
  return count(value) + " " + (value === 1 ? one : many);
}

// A share to one decimal, half up; the small addend keeps noise of the division from deciding a half (50.05 % of 2,000 is
// 50.1 %), and is far below what a share of any count of orders can differ by.  What is not nothing is never shown as nothing, what is not all never as all.
function percent(fraction) {
  if (!isNumber(fraction)) return UNKNOWN;
  const rounded = Math.round(fraction * 1000 + 1e-9) / 10;
  if (rounded === 0 && fraction > 0) return "under 0.1 %";
  if (rounded === 100 && fraction < 1) return "over 99.9 %";
  return String(rounded) + " %";
}

function fractionOf(part, whole) {
  return isNumber(part) && isNumber(whole) && whole > 0 ? part / whole : undefined;
}

function share(part, whole) {
  const fraction = fractionOf(part, whole);
  return fraction === undefined ? "" : percent(fraction);
}

// "300 (2.7 % of 11,000)"
function countOf(part, whole) {
  return count(part) + ofAll(part, whole);
}

// " (2.7 % of 11,000)", for the end of a sentence; nothing where there is no share.
function ofAll(part, whole) {
  const fraction = share(part, whole);
  return fraction ? " (" + fraction + " of " + count(whole) + ")" : "";
}

function is(number) {
  return number === 1 ? "is" : "are";
}

const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
  "November", "December"];

// "2025-03-02" as "2 March 2025"; what is no such day as it is.
function day(text) {
  const parts = /^(\d{4})-(\d\d)-(\d\d)$/.exec(text || "");
  if (!parts || !MONTHS[parts[2] - 1]) return text ? String(text) : UNKNOWN;
  return Number(parts[3]) + " " + MONTHS[parts[2] - 1] + " " + parts[1];
}

// "2025-03" as "March 2025", or short as "Mar 25".
function month(text, short = false) {
  const parts = /^(\d{4})-(\d\d)$/.exec(text || "");
  if (!parts || !MONTHS[parts[2] - 1]) return text ? String(text) : UNKNOWN;
  const name = MONTHS[parts[2] - 1];
  return short ? name.slice(0, 3) + " " + parts[1].slice(2) : name + " " + parts[1];
}

function listed(items, joint = "and") {
  if (items.length < 2) return items.join("");
  return items.slice(0, -1).join(", ") + " " + joint + " " + items[items.length - 1];
}

function cut(text, length) {
  const signs = Array.from(visible(text));
  return signs.length <= length ? signs.join("") : signs.slice(0, length - 3).join("") + "...";
}

const SIDE_NAMES = { before: "before", after: "after", rules: "the rules" };

function sideName(side) {
  return SIDE_NAMES[side.name] || String(side.name);
}
