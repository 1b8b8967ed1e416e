// Looking closer and moving along, by buttons and keys.

// Around what `secondsInHand()` of the page says, where that is in view.
function zoom(factor) {
  const held = secondsInHand();
  const middle = held > view.from && held < view.until ? held : (view.from + view.until) / 2;
  look(middle - (middle - view.from) * factor, middle + (view.until - middle) * factor);
}
function pan(part) {
  const by = part * (view.until - view.from);
  const from = Math.min(Math.max(0, view.from + by), songSeconds - (view.until - view.from));
  look(from, from + view.until - view.from);
}

// By the id of their button. A page may add more.
const actions = {
  "whole": () => look(0, songSeconds),
  "closer": () => zoom(0.5),
  "wider": () => zoom(2),
  "earlier": () => pan(-0.5),
  "later": () => pan(0.5),
};
const keys = { "Home": "whole", "+": "closer", "=": "closer", "-": "wider", "ArrowLeft": "earlier", "ArrowRight": "later" };

function listenToKeys() {
  for (const [id, act] of Object.entries(actions)) document.getElementById(id).addEventListener("click", act);
  document.addEventListener("keydown", event => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest("audio, input")) return;
    if (!keys[event.key]) return;
    actions[keys[event.key]]();
    event.preventDefault();
  });
}
