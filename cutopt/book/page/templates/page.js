// Ticks that stay, filters, colours. The page is whole without this; what needs it is hidden until it runs.
"use strict";
(() => {
  const root = document.documentElement;
  const id = (name) => document.getElementById(name);
  const COLOURS = "cutopt colours";

  // Some browsers refuse to keep anything for a page that is a file; everything works on without.
  const kept = {
    refused: false,
    get(key) {
      try {
        return localStorage.getItem(key);
      } catch {
        this.refused = true;
        return null;
      }
    },
    set(key, value) {
      try {
        localStorage.setItem(key, value);
      } catch {
        this.refused = true;
      }
    },
  };

  // Before the page is drawn, so that it does not flash
  root.dataset.colours = kept.get(COLOURS) ?? "";

  // --- ticks: "3.1" is step 3 on copy 1; boxes beside the steps have words, "laid 1 6"

  let key, boxes, fields, cards, total;
  let ticks = new Set();
  let told = false;

  function gather() {
    key = `cutopt ticks ${document.body.dataset.job} ${document.body.dataset.plan}`;
    boxes = new Map(Array.from(document.querySelectorAll("input[data-tick]"), (box) => [box.dataset.tick, box]));
    fields = new Map(Array.from(document.querySelectorAll("input[data-step]"), (field) => [field.dataset.step, field]));
    cards = Array.from(document.querySelectorAll("article.card"), readCard);
    total = cards.reduce((sum, card) => sum + card.boxes, 0);
  }

  function readCard(article) {
    const made = document.createElement("p");
    made.className = "made";
    article.querySelector("header").append(made);
    return {
      article,
      made,
      boxes: Number(article.dataset.boxes),
      pieces: article.dataset.pieces.toLowerCase().split(" "),
      cells: article.dataset.cells.trim().split(" "),
      words: article.querySelector(".pieces").textContent.toLowerCase(),
      steps: Array.from(article.querySelectorAll(".steps > li")),
      done: 0,
    };
  }

  const isStep = (tick) => /^\d+\.\d+$/.test(tick);

  // Whether this page has a box, or a place in a field, for the tick
  function known(tick) {
    if (boxes.has(tick)) return true;
    if (typeof tick !== "string" || !isStep(tick)) return false;
    const [step, copy] = tick.split(".");
    return fields.has(step) && Number(copy) >= 1 && Number(copy) <= Number(fields.get(step).max);
  }

  function recall() {
    try {
      ticks = new Set(JSON.parse(kept.get(key) ?? "[]").filter(known));
    } catch {
      ticks = new Set();
    }
  }

  function keep() {
    kept.set(key, JSON.stringify([...ticks]));
    if (kept.refused && !told) {
      told = true;
      say("This browser keeps no ticks for this page: they are gone when it is closed. Save them to a file.");
    }
  }

  function show() {
    for (const [tick, box] of boxes) box.checked = ticks.has(tick);
    for (const [step, field] of fields) {
      let count = 0;
      for (let copy = 1; copy <= Number(field.max); copy += 1) count += ticks.has(`${step}.${copy}`);
      field.value = count || "";
    }
    for (const card of cards) {
      card.done = 0;
      for (const input of card.article.querySelectorAll("input")) {
        card.done += input.type === "checkbox" ? input.checked : Number(input.value);
      }
      showCard(card);
    }
    showMade();
  }

  function showCard(card) {
    const whole = card.boxes > 0 && card.done === card.boxes;
    card.made.textContent = whole ? `All ${card.boxes} done ✓` : `${card.done} of ${card.boxes} done`;
    card.article.classList.toggle("finished", whole);
  }

  function showMade() {
    const done = cards.reduce((sum, card) => sum + card.done, 0);
    id("progress").max = Math.max(total, 1);
    id("progress").value = done;
    id("made").textContent = `${done} of ${total} steps done`;
  }

  function mark(tick, on) {
    if (on) ticks.add(tick);
    else ticks.delete(tick);
  }

  function ticked(event) {
    const input = event.target;
    const article = input.closest("article");
    const card = cards.find((one) => one.article === article);
    if (input.dataset.tick !== undefined) {
      mark(input.dataset.tick, input.checked);
      if (card) card.done += input.checked ? 1 : -1;
    } else if (input.dataset.step !== undefined) {
      const most = Number(input.max);
      const count = Math.min(most, Math.max(0, Math.floor(Number(input.value) || 0)));
      for (let copy = 1; copy <= most; copy += 1) {
        const tick = `${input.dataset.step}.${copy}`;
        card.done += (copy <= count) - ticks.has(tick);
        mark(tick, copy <= count);
      }
      input.value = count || "";
    } else return;
    keep();
    if (card) showCard(card);
    showMade();
  }

  function say(words) {
    id("notice").textContent = words;
  }

  const ticksOf = (count) => (count === 1 ? "1 tick" : `${count} ticks`);

  // --- the file of ticks

  function save() {
    const done = [...ticks].filter(isStep).map((tick) => tick.split(".").map(Number));
    done.sort((one, other) => one[0] - other[0] || one[1] - other[1]);
    const file = {
      format: "cutopt-ticks",
      version: 1,
      plan: document.body.dataset.plan,
      done: done.map(([step, copy]) => ({ step, copy })),
      other: [...ticks].filter((tick) => !isStep(tick)).sort(),
    };
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify(file, null, 1), "\n"], { type: "application/json" }));
    link.download = "cutopt-ticks.json";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    say(`${ticksOf(ticks.size)} saved to ${link.download}.`);
  }

  async function read(event) {
    const [file] = event.target.files;
    if (!file) return;
    try {
      const found = ticksIn(JSON.parse(await file.text()));
      const fresh = found.filter((tick) => !ticks.has(tick));
      for (const tick of fresh) ticks.add(tick);
      say(`${ticksOf(found.length)} in ${file.name}, ${fresh.length} of them new here.`);
      keep();
      show();
    } catch (error) {
      say(`${file.name} was not read: ${error instanceof SyntaxError ? "it is no JSON file" : error.message}.`);
    }
    event.target.value = "";
  }

  // The file's ticks that this page has boxes for; throws what is wrong with the file
  function ticksIn(file) {
    if (file?.format !== "cutopt-ticks") throw new Error("it is no file of ticks");
    if (file.version !== 1) throw new Error("its version is not 1");
    if (file.plan !== document.body.dataset.plan) throw new Error("its ticks are of another plan");
    if (!Array.isArray(file.done)) throw new Error("it has no list of what is done");
    const done = file.done.map((one) => `${one?.step}.${one?.copy}`);
    return [...new Set([...done, ...(Array.isArray(file.other) ? file.other : [])])].filter(known);
  }

  function clear() {
    if (!ticks.size || !confirm(`Take off ${ticksOf(ticks.size)}? They cannot be brought back without a file.`)) return;
    ticks.clear();
    keep();
    show();
    say("All ticks are off.");
  }

  // --- the filter

  function wanted(text) {
    const query = text.trim().toLowerCase();
    const cell = query.match(/^row\s*(\d+)(?:[\s,;]*(?:place\s*)?(\d+))?$/);
    if (cell) {
      const [, row, place] = cell;
      return ({ cells }) => cells.some((one) => (place ? one === `${row},${place}` : one.startsWith(`${row},`)));
    }
    const step = query.match(/^(?:step\s*)?(\d+)$/);
    if (step) return ({ steps }) => steps.some((one) => one.id === `step-${step[1]}`);
    const named = (card) => card.article.id.toLowerCase() === query || card.pieces.includes(query);
    if (cards.some(named)) return named;
    return (card) => card.article.id.toLowerCase().startsWith(query) || card.words.includes(query);
  }

  function filter() {
    const station = id("station").value;
    const text = id("find").value;
    const fits = wanted(text);
    const number = text.trim().match(/^(?:step\s*)?(\d+)$/i)?.[1];
    let tiles = 0;
    let lines = 0;
    for (const card of cards) {
      let here = 0;
      for (const step of card.steps) {
        step.hidden = station !== "" && step.dataset.station !== station;
        step.classList.toggle("found", step.id === `step-${number}`);
        here += !step.hidden;
      }
      const on = (text.trim() === "" || fits(card)) && (here > 0 || station === "");
      card.article.hidden = !on;
      tiles += on;
      lines += on ? here : 0;
    }
    const all = station === "" && text.trim() === "";
    id("all").hidden = all;
    id("count").textContent = all ? "" : counts(tiles, lines, station);
    id("none").hidden = tiles > 0;
    id("none").textContent = tiles > 0 ? "" : nothing(station, text.trim());
    fit();
  }

  function counts(tiles, lines, station) {
    const words = `${tiles} of ${cards.length} tiles, ${lines} ${lines === 1 ? "step" : "steps"} shown.`;
    if (station === "" || tiles === 0) return words;
    return `${words} The steps at other stations are hidden: mind what comes first.`;
  }

  function nothing(station, text) {
    const what = text === "" ? "No tile" : `No tile fits “${text}”`;
    const where = station === "" ? "" : ` and has steps at the station ${station}`;
    return `${what}${where}. Find a tile by its name, a piece, a step's number or a cell, as in row 5, place 1.`;
  }

  // Filter by hand: with fewer tiles the page is shorter, and what is found comes first under the bar
  function choose() {
    filter();
    write();
    const above = document.querySelector(".ticks").getBoundingClientRect().bottom;
    if (above < 0) scrollBy(0, above);
  }

  // The address keeps the filter: #station=drill&find=P7
  function write() {
    const hash = new URLSearchParams();
    for (const name of ["station", "find"]) if (id(name).value.trim() !== "") hash.set(name, id(name).value.trim());
    try {
      history.replaceState(null, "", `#${hash}`);
    } catch {
      location.replace(`#${hash}`);
    }
  }

  function follow() {
    const hash = new URLSearchParams(location.hash.slice(1));
    if (hash.has("station") || hash.has("find")) {
      id("station").value = hash.get("station") ?? "";
      if (id("station").selectedIndex < 0) id("station").value = "";
      id("find").value = hash.get("find") ?? "";
      filter();
      return;
    }
    // A link to a tile that the filter hides
    const target = document.querySelector(":target");
    if (target?.closest("[hidden]")) {
      reset();
      target.scrollIntoView();
    }
  }

  function reset() {
    id("station").value = "";
    id("find").value = "";
    filter();
  }

  // The bar sticks to the top: what is jumped to stops below it
  function fit() {
    root.style.setProperty("--bar", `${document.querySelector(".filter").offsetHeight}px`);
  }

  // --- colours

  function paint() {
    root.dataset.colours = id("colours").value;
    kept.set(COLOURS, root.dataset.colours);
  }

  function start() {
    gather();
    for (const part of document.querySelectorAll(".colours, .ticks, .filter")) part.hidden = false;
    id("colours").value = root.dataset.colours;
    id("colours").addEventListener("change", paint);
    document.addEventListener("change", ticked);
    id("save").addEventListener("click", save);
    id("read").addEventListener("click", () => id("file").click());
    id("file").addEventListener("change", read);
    id("clear").addEventListener("click", clear);
    id("station").addEventListener("change", choose);
    let typing;
    id("find").addEventListener("input", () => {
      clearTimeout(typing);
      typing = setTimeout(choose, 150);
    });
    document.querySelector(".filter").addEventListener("submit", (event) => event.preventDefault());
    document.querySelector(".filter").addEventListener("reset", (event) => {
      event.preventDefault();
      reset();
      write();
      id("find").focus();
    });
    addEventListener("hashchange", follow);
    addEventListener("resize", fit);
    // Another window of this page has ticked
    addEventListener("storage", (event) => {
      if (event.key === key) {
        recall();
        show();
      }
    });
    recall();
    keep();
    show();
    filter();
    follow();
  }

  addEventListener("DOMContentLoaded", start);
})();
