// The sounds, and where they are on the plots.

const players = [];

function addPlayers() {
  data.sounds.forEach((sound, i) => {
    const figureBox = element("figure", undefined, document.getElementById("listen"));
    element("figcaption", sound.name, figureBox);
    const audio = element("audio", undefined, figureBox);
    audio.controls = true;
    audio.setAttribute("aria-label", sound.name);
    audio.addEventListener("play", () => {
      for (const other of players) if (other !== audio) other.pause();
      follow();
    });
    audio.addEventListener("seeked", showPlaying);
    players.push(audio);
    // After the plots are there: decoding some megabytes can wait.
    setTimeout(() => { audio.src = URL.createObjectURL(new Blob([bytesOf(`sound-${i}`)], { type: sound.type })); }, 50);
  });
}

const playing = () => players.find(audio => !audio.paused) ?? players.find(audio => audio.currentTime > 0);

function follow() {
  const audio = players.find(player => !player.paused);
  if (!audio) return;
  const width = view.until - view.from;
  if (width < songSeconds && (audio.currentTime > view.until || audio.currentTime < view.from))
    look(audio.currentTime, audio.currentTime + width);
  showPlaying();
  requestAnimationFrame(follow);
}

function showPlaying() {
  const at = playing()?.currentTime;
  for (const { u } of panels) {
    const mark = u.over.querySelector(".playing");
    const shown = at !== undefined && at >= view.from && at <= view.until;
    mark.style.display = shown ? "block" : "none";
    if (shown) mark.style.left = `${u.valToPos(at, "x")}px`;
  }
}

function seek(seconds) {
  for (const audio of players) if (audio.readyState > 0) audio.currentTime = seconds;
  showPlaying();
}

function playOrPause() {
  const audio = playing() ?? players[players.length - 1];
  if (audio) audio.paused ? audio.play() : audio.pause();
}

function playBySpace() {
  document.addEventListener("keydown", event => {
    if (event.key !== " " || event.target.closest("audio, button")) return;
    playOrPause();
    event.preventDefault();
  });
}
