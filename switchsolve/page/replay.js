"use strict";
(() => {
  // Plays the film that stands in the page as JSON; what its parts mean is told in page/film.py.
  const SVG = "http://www.w3.org/2000/svg";
  const HALF_WIDTH = 10, SHY = 1.5, NOSE = 9, CORNER = 4.5, LONGEST = 1.6;
  const DWELL = 0.7; // seconds of rest after a move, while playing
  const READING = 3; // seconds for each move where nothing may glide

  const byId = (id) => document.getElementById(id);
  const film = JSON.parse(byId("film").textContent);
  const count = film.moves.length;
  const noun = byId("moves").dataset.noun;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

  // ---- polylines of [x, y]

  const mix = (one, other, share) => one.map((value, index) => value + (other[index] - value) * share);
  const apart = (one, other) => Math.hypot(other[0] - one[0], other[1] - one[1]);
  const lengthOf = (line) => line.slice(1).reduce((sum, point, index) => sum + apart(line[index], point), 0);

  /** The point `far` along a line whose points say themselves, by `at`, how far along they lie. */
  function pointAt(line, at, far) {
    let index = 1;
    while (index < line.length - 1 && at[index] < far) index += 1;
    const step = at[index] - at[index - 1];
    return mix(line[index - 1], line[index], step > 0 ? (far - at[index - 1]) / step : 0);
  }

  function stretch(line, at, from, to) {
    const inner = line.filter((_, index) => at[index] > from + 1e-6 && at[index] < to - 1e-6);
    return [pointAt(line, at, from), ...inner, pointAt(line, at, to)];
  }

  /** How far along each point of a line lies, in drawing units. */
  function measured(line) {
    const at = [0];
    for (let index = 1; index < line.length; index += 1) {
      at.push(at[index - 1] + apart(line[index - 1], line[index]));
    }
    return at;
  }

  const shortened = (line, start, end) => stretch(line, measured(line), start, lengthOf(line) - end);

  /** The rail under a stretch of a path, whose points are [g, x, y]. */
  const railUnder = (path, from, to) =>
    stretch(path.map((point) => point.slice(1)), path.map((point) => point[0]), from, to);

  function normals(line) {
    return line.map((point, index) => {
      const before = line[Math.max(index - 1, 0)], after = line[Math.min(index + 1, line.length - 1)];
      const found = [[before, point], [point, after]]
        .filter(([one, other]) => apart(one, other) > 1e-9)
        .map(([one, other]) => [-(other[1] - one[1]) / apart(one, other), (other[0] - one[0]) / apart(one, other)]);
      if (found.length < 2) return found[0] || [0, 1];
      const inner = 1 + found[0][0] * found[1][0] + found[0][1] * found[1][1];
      return inner < 0.3 ? found[0] : [(found[0][0] + found[1][0]) / inner, (found[0][1] + found[1][1]) / inner];
    });
  }

  /** The line without corners so near to its ends that a band along it would fold over. */
  function withoutShortEnds(line) {
    const at = measured(line), whole = at[at.length - 1];
    const isEnd = (index) => index === 0 || index === line.length - 1;
    return line.filter((_, index) => isEnd(index) || (at[index] > CORNER && at[index] < whole - CORNER));
  }

  /** A band along a line; the end to which a nose points is pointed. */
  function outline(line, nose) {
    const tip = nose ? Math.min(NOSE, lengthOf(line) * 0.4) : 0;
    const spine = withoutShortEnds(shortened(line, nose < 0 ? tip : 0, nose > 0 ? tip : 0));
    const across = normals(spine);
    const side = (half) =>
      spine.map((point, index) => point.map((value, axis) => value + across[index][axis] * half));
    const ring = [...side(HALF_WIDTH), ...(nose > 0 ? [line[line.length - 1]] : []), ...side(-HALF_WIDTH).reverse()];
    return nose < 0 ? [line[0], ...ring] : ring;
  }

  const pathData = (line) => line.map((point, index) =>
    `${index ? "L" : "M"}${point[0].toFixed(2)} ${point[1].toFixed(2)}`).join("");

  // ---- elements

  function element(name, attributes, parent) {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return parent.appendChild(made);
  }

  const live = byId("live");
  const couplings = element("path", { class: "rail coupling" }, live);
  const bridges = film.tables.map(() => element("path", { class: "rail bridge" }, live));
  live.append(couplings);
  const bodies = film.vehicles.map(makeBody);
  const flag = element("path", { class: "flag" }, live);
  const event = element("circle", { class: "event", r: 15 }, live);
  const trail = byId("trail");
  const routes = [...document.querySelectorAll(".route")];

  function makeBody(vehicle) {
    const group = element("g", { class: `vehicle ${vehicle.kind}${vehicle.fixed ? " fixed" : ""}` }, live);
    element("title", {}, group).textContent = vehicle.name;
    const bar = element("path", { class: "bar" }, group);
    const body = element("path", { class: "body" }, group);
    const text = element("g", {}, group);
    vehicle.lines.forEach((line, index) => {
      const y = 0.33 * vehicle.size - (vehicle.lines.length - 1) * 0.46 * vehicle.size;
      element("text", { "font-size": vehicle.size, y: y + index * vehicle.size * 1.09 }, text).textContent = line;
    });
    group.dataset.name = vehicle.name;
    return { group, bar, body, text };
  }

  /** Draw one vehicle over the given rail; its middle and ends are told in the element for whoever asks. */
  function putVehicle(number, line, nose) {
    const vehicle = film.vehicles[number], { group, bar, body, text } = bodies[number];
    const whole = lengthOf(line), at = measured(line);
    // on rail that is drawn much too long the body stops growing, and a bar shows the rail that it stands on
    const seen = Math.min(whole, LONGEST * vehicle.drawn);
    const shy = Math.max(Math.min(SHY, whole * 0.3), (whole - seen) / 2);
    bar.setAttribute("d", seen < whole ? pathData(shortened(line, SHY, SHY)) : "");
    body.setAttribute("d", `${pathData(outline(shortened(line, shy, shy), nose))}Z`);
    const middle = pointAt(line, at, whole / 2 - 3 * nose), half = Math.min(vehicle.width, whole) / 2;
    const one = pointAt(line, at, Math.max(whole / 2 - half, 0));
    const other = pointAt(line, at, Math.min(whole / 2 + half, whole));
    let angle = Math.atan2(other[1] - one[1], other[0] - one[0]) * 180 / Math.PI;
    if (angle > 90 || angle <= -90) angle += angle > 0 ? -180 : 180;
    const scale = Math.min(1, Math.max((seen - (nose ? 13 : 6)) / vehicle.width, 0.3));
    text.setAttribute("transform", `translate(${middle[0]} ${middle[1]}) rotate(${angle}) scale(${scale})`);
    group.dataset.ends = [line[0], line[line.length - 1]].flat().map((value) => value.toFixed(2)).join(" ");
    group.dataset.middle = pointAt(line, at, whole / 2).map((value) => value.toFixed(2)).join(" ");
  }

  /** Draw a string on a path, `far` beyond where it is listed; gives back its couplings. */
  function putString(string, path, far) {
    const [, start, vehicles, noses] = film.strings[string];
    const joints = [];
    let at = start + far, before = null;
    vehicles.forEach((number, index) => {
      const line = railUnder(path, at, at + film.vehicles[number].length);
      putVehicle(number, line, noses[index]);
      if (before) {
        const gap = Math.min(2 * SHY, lengthOf(line) / 2);
        joints.push(pathData([shortened(before, 0, gap).pop(), shortened(line, gap, 0)[0]]));
      }
      before = line;
      at += film.vehicles[number].length;
    });
    return joints.join("");
  }

  const putStill = (strings) => strings.map((one) => putString(one, film.paths[film.strings[one][0]], 0)).join("");

  // ---- one picture

  /** Everything at rest after so many moves. */
  function drawRest(done) {
    const last = done ? film.moves[done - 1].beats.slice(-1)[0] : null;
    couplings.setAttribute("d", putStill(last ? last.after : film.start.strings));
    putBridges(last ? last.lies : film.lies);
    putRoutes(last ? last.lined.slice(-1)[0][1] : film.start.lined, done ? film.moves[done - 1].used : []);
    event.setAttribute("visibility", "hidden");
  }

  /** A share (0 to 1) of one beat. */
  function drawBeat(move, beat, share) {
    let joints = putStill(beat.still);
    let far = 0;
    if (beat.moving !== undefined) {
      far = beat.by * share * share * (3 - 2 * share);
      joints += putString(beat.moving, film.paths[film.strings[beat.moving][0]], far);
    }
    putBridges(beat.lies);
    if (beat.frames) {
      bridges[beat.turns].setAttribute("d", pathData(between(beat.frames, share)));
      for (const [string, paths] of beat.riders) {
        joints += putString(string, between(paths.map((path) => film.paths[path]), share), 0);
      }
    }
    couplings.setAttribute("d", joints);
    putRoutes(beat.lined.filter(([from]) => from <= far).slice(-1)[0][1], move.used);
    putEvent(beat);
  }

  /** A polyline between two frames of a row. */
  function between(frames, share) {
    const at = share * (frames.length - 1), index = Math.min(Math.floor(at), frames.length - 2);
    return frames[index].map((point, number) => mix(point, frames[index + 1][number], at - index));
  }

  function putBridges(lies) {
    bridges.forEach((bridge, index) => bridge.setAttribute("d", pathData(film.tables[index][lies[index]])));
  }

  function putRoutes(lined, used) {
    routes.forEach((route, number) => {
      route.classList.toggle("lined", lined.includes(number));
      route.classList.toggle("used", lined.includes(number) && used.includes(number));
    });
  }

  function putEvent(beat) {
    event.setAttribute("visibility", beat.does ? "visible" : "hidden");
    if (!beat.does) return;
    event.setAttribute("class", `event ${beat.does}`);
    event.setAttribute("cx", beat.at[0]);
    event.setAttribute("cy", beat.at[1]);
  }

  /** The rail that a move runs over, and a flag over the locomotive that runs. */
  function putMark(number) {
    const move = number ? film.moves[number - 1] : null;
    bodies.forEach(({ group }, index) => group.classList.toggle("running", move !== null && move.runs === index));
    flag.setAttribute("visibility", move ? "visible" : "hidden");
    trail.setAttribute("d", move ? move.beats.filter((beat) => beat.moving !== undefined).map(trailOf).join("") : "");
    if (!move) return;
    const [x, y] = bodies[move.runs].group.dataset.middle.split(" ").map(Number);
    flag.setAttribute("d", `M${x - 6} ${y - 24}h12l-6 9z`);
  }

  function trailOf(beat) {
    const [path, at, vehicles] = film.strings[beat.moving];
    const whole = vehicles.reduce((sum, vehicle) => sum + film.vehicles[vehicle].length, 0);
    return pathData(railUnder(film.paths[path], at, at + whole + beat.by));
  }

  // ---- the clock: `now` is the number of moves done, with a share of the one under way

  let now = 0, playing = false, target = null, rest = 0, last = 0, told = null, frame = 0;

  const secondsOf = (move) => move.beats.reduce((sum, beat) => sum + beat.seconds, 0);
  const speed = () => Number(byId("speed").value);

  function draw() {
    const done = Math.floor(now), share = now - done;
    if (share === 0) drawRest(done);
    else {
      const move = film.moves[done];
      let left = share * secondsOf(move), index = 0;
      while (index < move.beats.length - 1 && left > move.beats[index].seconds) left -= move.beats[index++].seconds;
      drawBeat(move, move.beats[index], Math.min(left / move.beats[index].seconds, 1));
    }
    putMark(Math.ceil(now));
    tell();
    follow();
  }

  function tick(time) {
    // the first frame may have begun before the click; one that comes late is not made up for
    const passed = Math.min(Math.max(time - last, 0) / 1000, 0.1) * speed();
    last = time;
    if (rest > 0) rest -= passed;
    else if (calm.matches) {
      if (playing && now < count) now = Math.floor(now) + 1;
      rest = READING;
    } else advance(passed);
    draw();
    if (now >= count) playing = false;
    if (target !== null && now >= target) target = null;
    if (playing || target !== null) frame = requestAnimationFrame(tick);
    putButtons();
  }

  function advance(seconds) {
    const done = Math.floor(now);
    if (done >= count) return;
    now += seconds / secondsOf(film.moves[done]);
    if (now < done + 1) return;
    now = done + 1;
    rest = DWELL;
  }

  function start() {
    rest = 0;
    last = performance.now();
    frame = requestAnimationFrame(tick);
    putButtons();
  }

  /** Stop whatever goes on, and stand where `place` says. */
  function stand(place) {
    cancelAnimationFrame(frame);
    playing = false;
    target = null;
    now = Math.min(Math.max(place, 0), count);
    draw();
    putButtons();
  }

  /** Show one move from its start to its end. */
  function show(number) {
    if (number > count) return;
    stand(calm.matches ? number : number - 1);
    if (calm.matches) return;
    target = number;
    start();
  }

  function play() {
    const was = playing;
    stand(was || now < count ? now : 0);
    if (was) return;
    playing = true;
    start();
  }

  const first = () => stand(0);
  const back = () => stand(Math.ceil(now) - 1);
  const end = () => stand(count);
  /** Finish the move under way, if one is; else show the next. */
  function forward() {
    const under = now % 1 > 0;
    if (under && target !== null) stand(Math.ceil(now));
    else if (under) show(Math.ceil(now));
    else show(now + 1);
  }

  // ---- words and controls

  const slider = byId("slider"), picture = byId("picture");
  const entries = [...document.querySelectorAll("#moves li")];

  function tell() {
    const number = Math.ceil(now), move = number ? film.moves[number - 1] : film.start;
    slider.value = String(now);
    const part = now % 1 > 0 ? `, ${Math.round((now % 1) * 100)} percent done` : "";
    slider.setAttribute("aria-valuetext", number ? `${noun} ${number} of ${count}${part}` : "At the start");
    if (told === number) return;
    told = number;
    byId("number").textContent = number ? `${noun} ${number} of ${count}` : "Start";
    byId("text").textContent = move.text;
    byId("standing").textContent = move.standing;
    byId("picture-words").textContent = move.standing;
    entries.forEach((entry, index) => {
      if (index === number) entry.setAttribute("aria-current", "step");
      else entry.removeAttribute("aria-current");
    });
    const list = byId("moves"), entry = entries[number];
    if (list.scrollHeight > list.clientHeight) list.scrollTop = entry.offsetTop - list.clientHeight / 3;
  }

  const overflows = () =>
    picture.scrollWidth > picture.clientWidth + 1 || picture.scrollHeight > picture.clientHeight + 1;

  /** Keep the locomotive that runs in sight where the picture is larger than its frame. */
  function follow() {
    const number = Math.ceil(now);
    if (!number || !overflows()) return;
    const box = bodies[film.moves[number - 1].runs].body.getBoundingClientRect();
    const frame = picture.getBoundingClientRect(), wide = frame.width / 4, high = frame.height / 4;
    picture.scrollLeft += Math.max(box.right - frame.right + wide, 0) + Math.min(box.left - frame.left - wide, 0);
    picture.scrollTop += Math.max(box.bottom - frame.bottom + high, 0) + Math.min(box.top - frame.top - high, 0);
  }

  const whole = byId("whole");

  /** Show the picture as a whole, or at a size at which names can be read. */
  function resize() {
    const isWhole = picture.classList.toggle("whole");
    whole.setAttribute("aria-pressed", String(isWhole));
    follow();
  }

  /** There is a choice of sizes only where the picture is larger than its frame. */
  function putChoice() {
    const isWhole = picture.classList.contains("whole");
    picture.classList.remove("whole");
    whole.hidden = !overflows();
    picture.classList.toggle("whole", isWhole && !whole.hidden);
    whole.setAttribute("aria-pressed", String(picture.classList.contains("whole")));
  }

  function putButtons() {
    byId("play").textContent = playing ? "Pause" : "Play";
    for (const id of ["first", "back"]) byId(id).setAttribute("aria-disabled", String(now <= 0));
    for (const id of ["forward", "last"]) byId(id).setAttribute("aria-disabled", String(now >= count));
  }

  const actions = { first, back, play, forward, last: end };
  for (const [id, action] of Object.entries(actions)) byId(id).addEventListener("click", action);
  slider.addEventListener("input", () => stand(Number(slider.value)));
  entries.forEach((entry, index) => {
    entry.querySelector("button").addEventListener("click", () => (index ? show(index) : stand(0)));
  });

  const keys = { ArrowLeft: back, ArrowRight: forward, Home: first, End: end, " ": play };
  const onSlider = { ArrowDown: back, ArrowUp: forward };
  document.addEventListener("keydown", (pressed) => {
    const where = pressed.target;
    const action = keys[pressed.key] || (where === slider && onSlider[pressed.key]);
    if (!action) return;
    if (pressed.ctrlKey || pressed.altKey || pressed.metaKey || pressed.shiftKey) return;
    if (where === byId("speed") || (where === picture && overflows())) return;
    if (pressed.key === " " && where instanceof Element && where.closest("button, summary")) return;
    pressed.preventDefault();
    action();
  });

  whole.addEventListener("click", resize);
  window.addEventListener("resize", putChoice);

  byId("controls").hidden = false;
  document.documentElement.classList.add("plays");
  putChoice();
  draw();
  putButtons();
})();
