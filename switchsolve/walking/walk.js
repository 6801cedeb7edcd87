"use strict";
(() => {
  // Shows what Python tells, and tells Python what a person chooses.  The rules are Python's; nothing here
  // knows what is allowed.
  const FRAME = 45; // milliseconds for each picture on the way
  const ASK_AGAIN = 1500; // milliseconds until the minimum is asked for again
  const ORDER = ["couple", "clear", "line", "foul"];

  const byId = (id) => document.getElementById(id);
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const picture = byId("picture"), live = byId("live");

  let state = null, who = "", leaves = "", only = "", hinted = null, busy = false, playing = 0;

  // ---- asking

  async function ask(what, asked) {
    const answer = await fetch(what, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(asked),
    });
    if (!answer.ok) throw new Error((await answer.text()).trim());
    return answer.json();
  }

  /** Ask for something that changes where everything stands. */
  async function change(what, asked = {}) {
    if (busy) return null;
    busy = true;
    document.body.setAttribute("aria-busy", "true");
    try {
      const told = await ask(what, { version: state ? state.version : 0, ...asked });
      show(told);
      return told;
    } catch (error) {
      fail(error);
      return null;
    } finally {
      busy = false;
      document.body.removeAttribute("aria-busy");
    }
  }

  function fail(error) {
    tell(error instanceof TypeError
      ? "The program does not answer any more. Start it again, and open the address that it prints."
      : `This did not work: ${error.message}.`);
  }

  // ---- showing

  function show(told) {
    const isNew = !state || told.version !== state.version;
    state = told;
    for (const name of ["moves", "minimum", "couplings", "cuts"]) byId(name).textContent = told[name];
    byId("picture-words").textContent = told.standing;
    byId("standing").textContent = told.standing;
    byId("now").textContent = nowText();
    byId("now").classList.toggle("done", told.isDone);
    disable("undo", !told.canUndo);
    disable("redo", !told.canRedo);
    if (isNew) {
      hinted = null;
      byId("told").hidden = true;
      only = "";
      choose(likely(), "");
      putSteps();
      play(told.frames, told.picture);
    }
    putStarts();
    document.body.dataset.version = told.version;
  }

  function nowText() {
    const last = state.steps.length ? state.steps[state.steps.length - 1][1] : "At the start.";
    if (state.isDone) return `${last} ${state.done}`;
    return state.choices.length ? last : `${last} There is nothing that can be done from here but undo.`;
  }

  const disable = (id, isOff) => byId(id).setAttribute("aria-disabled", String(isOff));
  const isOff = (id) => byId(id).getAttribute("aria-disabled") === "true";

  /** The way that goes on in the same direction, if there is one. */
  function likely() {
    const found = state.choices.find((choice) => choice.moves === 0 && choice.kind !== "line") || state.choices[0];
    return found ? found.who : "";
  }

  function choose(way, left) {
    who = way;
    const options = unique(mine().map((choice) => choice.leaves));
    leaves = options.includes(left) ? left : options.includes("") ? "" : options[0] || "";
    putChoices();
  }

  const unique = (values) => [...new Set(values)];
  const mine = () => state.choices.filter((choice) => choice.who === who);

  function shown() {
    const stops = mine().filter((choice) => choice.leaves === leaves && (!only || choice.places.includes(only)));
    return stops.sort((one, other) => ORDER.indexOf(one.kind) - ORDER.indexOf(other.kind));
  }

  function putChoices() {
    put("who", unique(state.choices.map((choice) => choice.who)).map((way) => {
      const costs = state.choices.find((choice) => choice.who === way);
      const words = costs.kind === "line" ? way : `${way}${costs.moves ? "" : " (goes on, no new move)"}`;
      return toggle(words, way === who, () => choose(way, leaves));
    }));
    const options = unique(mine().map((choice) => choice.leaves)).sort((one, other) => one.length - other.length);
    byId("leaves-row").hidden = options.length < 2;
    put("leaves", options.map((left) => toggle(left || "nothing, all stay coupled", left === leaves, () => {
      only = "";
      choose(who, left);
    })));
    const stops = shown(), open = stops.filter((choice) => choice.kind !== "foul").length;
    const items = stops.map(stopItem);
    put("goes", items.slice(0, open));
    put("across", items.slice(open));
    byId("foul").hidden = open === stops.length;
    byId("foul").open = only !== "" || open === 0;
    byId("foul-name").textContent = `Stops across a junction (${stops.length - open})`;
    byId("goes-name").textContent = only ? `Where to? Stops at ${only}` : "Where to?";
    byId("all").hidden = !only;
    light();
  }

  const put = (id, children) => byId(id).replaceChildren(...children);

  function button(words, action) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.addEventListener("click", action);
    return made;
  }

  function toggle(words, isOn, action) {
    const made = button(words, action);
    made.setAttribute("aria-pressed", String(isOn));
    made.dataset.words = words;
    return made;
  }

  function stopItem(choice, index) {
    const item = document.createElement("li"), made = button("", () => go(choice));
    const count = document.createElement("span");
    count.className = "count";
    count.textContent = index < 9 ? String(index + 1) : "";
    made.append(count, ` ${choice.goes}`);
    made.dataset.choice = String(state.choices.indexOf(choice));
    item.append(made);
    return item;
  }

  function putSteps() {
    let before = 0;
    put("steps", state.steps.map(([moves, words]) => {
      const item = document.createElement("li"), count = document.createElement("span");
      count.className = "count";
      count.textContent = moves > before ? String(moves) : "";
      before = Math.max(before, moves);
      item.append(count, ` ${words}`);
      return item;
    }));
    byId("none").hidden = state.steps.length > 0;
    byId("steps").scrollTop = byId("steps").scrollHeight;
  }

  function putStarts() {
    byId("starts-row").hidden = state.starts < 2;
    if (byId("starts").length === state.starts) return;
    put("starts", [...Array(state.starts).keys()].map((number) => new Option(`${number + 1} of ${state.starts}`, number)));
  }

  // ---- the picture

  function light() {
    const places = new Set(shown().flatMap((choice) => choice.places));
    const others = new Set(state.choices.flatMap((choice) => choice.places));
    for (const path of document.querySelectorAll(".lit")) path.classList.toggle("on", places.has(path.dataset.lit));
    for (const path of document.querySelectorAll(".place")) path.classList.toggle("on", others.has(path.dataset.place));
  }

  /** Show pictures one after the other; the last one stays. */
  function play(frames, last) {
    clearTimeout(playing);
    const left = calm.matches ? [] : [...frames];
    const step = () => {
      const next = left.shift();
      live.innerHTML = next === undefined ? last : next;
      document.body.dataset.playing = next === undefined ? "" : "yes";
      follow();
      if (next !== undefined) playing = setTimeout(step, FRAME);
    };
    step();
  }

  /** Keep what moves in sight where the picture is larger than its frame. */
  function follow() {
    if (picture.scrollWidth <= picture.clientWidth + 1) return;
    const body = live.querySelector(".locomotive");
    if (!body) return;
    const box = body.getBoundingClientRect(), frame = picture.getBoundingClientRect(), wide = frame.width / 4;
    picture.scrollLeft += Math.max(box.right - frame.right + wide, 0) + Math.min(box.left - frame.left - wide, 0);
  }

  function point(place) {
    const at = (choice) => choice.places.includes(place);
    let stops = mine().filter((choice) => choice.leaves === leaves && at(choice));
    if (!stops.length) {
      const other = state.choices.find((choice) => at(choice) && !choice.leaves) || state.choices.find(at);
      if (!other) return;
      only = place;
      choose(other.who, other.leaves);
      stops = shown();
    }
    if (stops.length === 1) {
      go(stops[0]);
      return;
    }
    only = place;
    putChoices();
    focusOn(0);
  }

  // ---- doing

  /** Make a step; where nothing may glide no pictures of the way are asked for. */
  const goTo = (number) => change("go", { choice: number, calm: calm.matches });
  const go = (choice) => goTo(state.choices.indexOf(choice));

  function tell(words, choice = null) {
    hinted = choice;
    byId("told").hidden = false;
    byId("told-text").textContent = words;
    byId("do").hidden = choice === null;
  }

  async function look(what) {
    const version = state.version;
    tell("Looking ahead…");
    try {
      const told = await ask(what, { version });
      if (state.version !== version || told.version !== version) return;
      const hint = told.hint ? ` A good next step: ${told.hint}` : "";
      tell(told.ahead + hint, told.choice === undefined ? null : told.choice);
    } catch (error) {
      fail(error);
    }
  }

  function hint() {
    if (hinted !== null) goTo(hinted);
    else look("hint");
  }

  const doing = {
    undo: () => isOff("undo") || change("undo"),
    redo: () => isOff("redo") || change("redo"),
    restart: () => change("restart"),
    ahead: () => look("ahead"),
    hint,
    do: hint,
    all: () => {
      only = "";
      putChoices();
      focusOn(0);
    },
  };
  for (const [id, action] of Object.entries(doing)) byId(id).addEventListener("click", action);
  byId("starts").addEventListener("change", () => change("start", { start: Number(byId("starts").value) }));
  for (const path of document.querySelectorAll(".place")) {
    path.addEventListener("click", () => point(path.dataset.place));
  }

  // ---- typing

  byId("form").addEventListener("submit", async (sent) => {
    sent.preventDefault();
    const asked = { start: byId("lines").value, heads: {}, ran: {}, lined: {} };
    for (const each of document.querySelectorAll("select[data-kind]")) {
      if (each.value !== "") asked[each.dataset.kind][JSON.parse(each.dataset.name)] = each.value;
    }
    const told = await change("stand", asked);
    const problems = (told && told.problems) || [];
    put("problems", problems.map((words) => {
      const item = document.createElement("li");
      item.textContent = words;
      return item;
    }));
    if (told && !problems.length) {
      byId("typed").open = false;
      picture.focus();
      watch();
    }
  });

  // ---- keys

  /** The stops that are to be seen. */
  function stopButtons() {
    const folded = byId("foul").open ? "" : ":not(#across *)";
    return [...document.querySelectorAll(`.stops button${folded}`)];
  }

  function focusOn(index) {
    const all = stopButtons();
    if (all.length) all[Math.min(Math.max(index, 0), all.length - 1)].focus();
  }

  function along(step) {
    const all = stopButtons();
    const at = all.indexOf(document.activeElement);
    focusOn(at < 0 ? (step > 0 ? 0 : all.length - 1) : at + step);
  }

  function otherWay(step) {
    const ways = unique(state.choices.map((choice) => choice.who));
    if (!ways.length) return;
    only = "";
    choose(ways[(ways.indexOf(who) + step + ways.length) % ways.length], leaves);
  }

  function leaveOther() {
    const options = unique(mine().map((choice) => choice.leaves)).sort((one, other) => one.length - other.length);
    only = "";
    choose(who, options[(options.indexOf(leaves) + 1) % options.length]);
  }

  const keys = {
    ArrowLeft: () => otherWay(-1),
    ArrowRight: () => otherWay(1),
    ArrowUp: () => along(-1),
    ArrowDown: () => along(1),
    l: leaveOther,
    u: doing.undo,
    r: doing.redo,
    m: doing.ahead,
    h: hint,
  };
  document.addEventListener("keydown", (pressed) => {
    if (pressed.ctrlKey || pressed.altKey || pressed.metaKey || !state) return;
    const where = pressed.target;
    if (where instanceof Element && where.closest("textarea, input, select, summary")) return;
    const number = Number(pressed.key);
    const stop = pressed.key !== " " && number >= 1 && number <= 9 ? stopButtons()[number - 1] : undefined;
    const action = stop ? () => stop.click() : keys[pressed.key.length === 1 ? pressed.key.toLowerCase() : pressed.key];
    if (!action) return;
    if (where === picture && pressed.key.startsWith("Arrow") && picture.scrollWidth > picture.clientWidth + 1) return;
    pressed.preventDefault();
    action();
  });

  // ---- the minimum, which is proved meanwhile

  let watching = 0;
  async function watch() {
    clearTimeout(watching);
    try {
      const told = await ask("minimum", {});
      byId("minimum").textContent = told.minimum;
      if (told.minimum === "being looked for") watching = setTimeout(watch, ASK_AGAIN);
    } catch (error) {
      fail(error);
    }
  }

  change("state").then(watch);
})();
