// What both pages say and show alike.

const colour = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

function element(tag, text, parent) {
  const made = document.createElement(tag);
  if (text !== undefined) made.textContent = text;
  if (parent) parent.append(made);
  return made;
}

// Four significant figures, as the terminal has them.
function figure(value) {
  if (value === null || Number.isNaN(value)) return "not known";
  return Math.abs(value) >= 1000 ? value.toFixed(0) : String(Number(value.toPrecision(4)));
}

// Minutes and seconds, with so many digits; hours where there are any.
function clock(seconds, digits) {
  const whole = Math.floor(seconds / 60), rest = (seconds - 60 * whole).toFixed(digits);
  if (Number(rest) >= 60) return clock(60 * (whole + 1), digits);
  const minutes = whole < 60 ? whole : `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
  return `${minutes}:${rest.padStart(digits ? 3 + digits : 2, "0")}`;
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

// Each limit with a button that calls `show` with it, to look at its worst moment.
function listLimits(table, limits, show) {
  fillTable(table, ["limit", "worst", "allowed", "margin", "at", ""], limits.map(limit => {
    const button = element("button", clock(limit.at_s, 4));
    button.title = `show ${limit.limit} at its worst`;
    button.addEventListener("click", () => {
      show(limit);
      document.getElementById("bar").scrollIntoView();
    });
    return [limit.limit, `${figure(limit.worst)} ${limit.unit}`, `${figure(limit.allowed)} ${limit.unit}`,
            `${limit.margin_percent.toFixed(1)} %`, button, limit.held ? "held" : limit.unsure ? "cannot tell" : "PASSED"];
  }));
  limits.forEach((limit, i) => { if (!limit.held) table.tBodies[0].rows[i].className = "passed"; });
}

function sayCautions(paragraphs) {
  for (const paragraph of paragraphs) element("p", paragraph, document.getElementById("cautions"));
}

// A verdict with a mark before it, so that it does not hang on colour alone.
function showVerdict(box, verdict, sentence) {
  const held = verdict === "within limits";
  box.textContent = `${held ? "\u2713" : verdict === "cannot tell" ? "?" : "\u2717"} ${sentence}`;
  box.className = held ? "held" : "";
}

function whenLooksChange(again) {
  let resizing = 0;
  addEventListener("resize", () => { clearTimeout(resizing); resizing = setTimeout(again, 100); });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
  // Paper is light.
  addEventListener("beforeprint", () => { document.documentElement.classList.add("print"); again(); });
  addEventListener("afterprint", () => { document.documentElement.classList.remove("print"); again(); });
}
