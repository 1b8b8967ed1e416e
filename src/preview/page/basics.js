// What both pages say and show alike.

const colour = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

function element(tag, text, parent) {
  const made = document.createElement(tag);
  if (text !== undefined) made.textContent = text;
  if (parent) parent.append(made);
  return made;
}

// Numbers, units and times as src/common/words.cpp writes them, with thin spaces that do not break.
function withGroups(digits) {
  const whole = digits.split(".")[0];
  if (whole.replace("-", "").length < 5) return digits;
  return whole.replace(/\B(?=(\d{3})+$)/g, "\u202f") + digits.slice(whole.length);
}
const grouped = count => withGroups(String(count));

function fixed(value, decimals) {
  const digits = value.toFixed(decimals);
  return /[1-9]/.test(digits) ? digits : digits.replace("-", "");
}

function figure(value) {
  if (value === null || !Number.isFinite(value)) return "not known";
  const beforePoint = value === 0 ? 1 : Math.floor(Math.log10(Math.abs(value))) + 1;
  const digits = fixed(value, Math.min(9, Math.max(0, 4 - beforePoint)));
  return withGroups(digits.includes(".") ? digits.replace(/\.?0+$/, "") : digits);
}

const shownUnit = unit => ({ us: "\u00b5s", C: "\u00b0C" })[unit] ?? unit;
const withUnit = (value, unit) => `${figure(value)} ${shownUnit(unit)}`;

const padded = (number, width) => String(number).padStart(width, "0");
function clock(seconds, decimals) {
  const parts = 10 ** decimals, all = Math.round(seconds * parts), whole = Math.floor(all / parts);
  const rest = padded(whole % 60, 2) + (decimals > 0 ? `.${padded(all % parts, decimals)}` : "");
  if (whole < 3600) return `${Math.floor(whole / 60)}:${rest}`;
  return `${Math.floor(whole / 3600)}:${padded(Math.floor(whole / 60) % 60, 2)}:${rest}`;
}
function hours(seconds) {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 3600)}:${padded(Math.floor(whole / 60) % 60, 2)}:${padded(whole % 60, 2)}`;
}

function fillTable(table, heads, rows) {
  table.tHead.replaceChildren();
  table.tBodies[0].replaceChildren();
  if (rows.length === 0) return;
  const head = table.tHead.insertRow();
  for (const text of heads) element("th", text, head).scope = "col";
  for (const row of rows) {
    const line = table.tBodies[0].insertRow();
    for (const cell of row) cell instanceof Node ? line.insertCell().append(cell) : element("td", cell, line);
  }
}

function momentButton(seconds, title, show) {
  const button = element("button", clock(seconds, 3));
  button.title = title;
  button.addEventListener("click", () => {
    show();
    document.getElementById("bar").scrollIntoView();
  });
  return button;
}

const isHeld = verdict => verdict === "within limits";
// Shapes, so that no meaning hangs on colour: "\u2717 exceeded".
const marks = { held: "\u2713", exceeded: "\u2717", unsure: "?" };
const stateOf = limit => limit.held ? "held" : limit.unsure ? "unsure" : "exceeded";
const stateOfVerdict = verdict => isHeld(verdict) ? "held" : verdict === "cannot tell" ? "unsure" : "exceeded";

// Each limit with a button that calls `show` with it, to look at its worst moment.
function listLimits(table, limits, show) {
  fillTable(table, ["limit", "worst", "allowed", "margin", "at", ""], limits.map(limit => [
    limit.limit, withUnit(limit.worst, limit.unit), withUnit(limit.allowed, limit.unit), `${fixed(limit.margin_percent, 1)} %`,
    momentButton(limit.at_s, `show ${limit.limit} at its worst`, () => show(limit)),
    `${marks[stateOf(limit)]} ${limit.unsure && !limit.held ? "cannot tell" : stateOf(limit)}`]));
  limits.forEach((limit, i) => { table.tBodies[0].rows[i].className = stateOf(limit); });
}

// Where limits are exceeded: the first stretches, each with a button that calls `show` with it.
function listExceeded(table, spans, show) {
  const listed = 20;
  table.parentElement.hidden = spans.length === 0;
  table.caption.textContent = spans.length > listed ? `The first ${listed} of ${grouped(spans.length)} stretches; the plots mark all.` : "";
  fillTable(table, ["limit", "from", "until", "worst", "allowed", "times"], spans.slice(0, listed).map(span => [
    span.limit, momentButton(span.from_s, `show where ${span.limit} is exceeded`, () => show(span)), clock(span.until_s, 3),
    withUnit(span.worst, span.unit), withUnit(span.allowed, span.unit), grouped(span.count)]));
}

const withShare = (count, of) => grouped(count) + (of > 0 ? ` (${fixed(100 * count / of, 1)} %)` : "");
// As weave says it: the sums add up.
const notesInWords = ({ read, whole, cut_short, not_played }) =>
  `${grouped(read)} notes read = ${withShare(whole, read)} played whole + ${withShare(cut_short, read)} cut short + ${withShare(not_played, read)} not played`;

function sayCautions(paragraphs) {
  for (const paragraph of paragraphs) element("p", paragraph, document.getElementById("cautions"));
}

function showVerdict(box, verdict, sentence) {
  box.className = stateOfVerdict(verdict);
  box.textContent = `${marks[box.className]} ${sentence}`;
}

function whenLooksChange(again) {
  let resizing = 0;
  addEventListener("resize", () => { clearTimeout(resizing); resizing = setTimeout(again, 100); });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
  // Paper is light.
  addEventListener("beforeprint", () => { document.documentElement.classList.add("print"); again(); });
  addEventListener("afterprint", () => { document.documentElement.classList.remove("print"); again(); });
}
