"use strict";
(() => {
  const plan = JSON.parse(document.getElementById("plan").textContent);
  const KEY = "ramet opening " + plan.key;
  const PHOTO_PX = 900;
  const byId = (id) => document.getElementById(id);
  const now = () => new Date().toISOString();
  const fresh = () => ({ device: randomName(), unit: "C", bags: {}, seen: {}, timers: {}, sent: "" });
  let keeps = true;
  let kept = read();

  function randomName() {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function read() {
    try {
      const text = localStorage.getItem(KEY);
      return text ? Object.assign(fresh(), JSON.parse(text)) : fresh();
    } catch (error) {
      keeps = false;
      return fresh();
    }
  }

  function keep() {
    try {
      localStorage.setItem(KEY, JSON.stringify(kept));
      keeps = true;
    } catch (error) {
      keeps = false;
    }
    tell();
  }

  function tell() {
    const bags = Object.values(kept.bags).filter((bag) => bag.opened_at).length;
    const pieces = Object.keys(kept.seen).length;
    byId("kept").textContent = keeps
      ? "What you note stays on this device, also after a reload and without a network."
      : "This device cannot keep what you note (no room, or a private window). Save the result file before you close the page.";
    byId("count").textContent =
      bags + " of " + Object.keys(plan.bags).length + " bags opened, " + pieces + " observations noted.";
    const sent = byId("sent");
    if (kept.sent && kept.sent === fingerprint()) sent.textContent = "All of it has been sent.";
    else if (plan.send_to && pieces + bags) sent.textContent = "Not sent yet; it is sent when a connection is there.";
    else sent.textContent = "";
  }

  function result() {
    const bags = Object.entries(kept.bags)
      .filter(([, bag]) => bag.opened_at)
      .map(([id, bag]) => clean({ bag: id, opened_at: bag.opened_at, water_c: bag.water_c, note: bag.note, photo: bag.photo }));
    const seen = Object.entries(kept.seen).map(([at, one]) => {
      const cut = at.indexOf(" ");
      return clean({
        piece: at.slice(cut + 1), day: Number(at.slice(0, cut)), seen_at: one.seen_at,
        condition: one.condition, placed: one.placed || undefined,
      });
    });
    return {
      format: "ramet-result/1", shipment: plan.shipment, due: plan.due, plan_sha256: plan.plan_sha256,
      made_at: now(), device: kept.device, bags: bags, seen: seen,
    };
  }

  function clean(row) {
    for (const key of Object.keys(row)) if (row[key] === undefined || row[key] === "") delete row[key];
    return row;
  }

  function fingerprint() {
    const made = result();
    return JSON.stringify([made.bags, made.seen]).length + ":" + JSON.stringify([made.bags, made.seen]).slice(-400);
  }

  function save() {
    const blob = new Blob([JSON.stringify(result(), null, 1)], { type: "application/json" });
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = plan.shipment.replace(/[^A-Za-z0-9]+/g, "-").toLowerCase() + "-result.json";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  let sending = false;
  async function send(asked) {
    const anything = Object.keys(kept.seen).length + Object.values(kept.bags).filter((bag) => bag.opened_at).length;
    if (!plan.send_to || sending || !anything || (!asked && kept.sent === fingerprint())) return;
    sending = true;
    const what = fingerprint();
    try {
      // As plain text the request needs no permission asked for first, also when this page is a file.
      const answer = await fetch(plan.send_to, { method: "POST", body: JSON.stringify(result()), headers: { "Content-Type": "text/plain" } });
      const said = await answer.text();
      if (answer.ok) {
        kept.sent = what;
        keep();
      }
      byId("sent").textContent = said;
    } catch (error) {
      byId("sent").textContent = "No connection to the sender now. Your notes are kept; they are sent when it returns.";
    } finally {
      sending = false;
    }
  }

  function celsius(text, unit) {
    const number = Number(text.trim().replace(",", "."));
    if (text.trim() === "" || !Number.isFinite(number)) return null;
    return Math.round((unit === "F" ? (number - 32) / 1.8 : number) * 100) / 100;
  }

  function shown(water_c) {
    if (water_c === undefined) return "";
    return String(Math.round((kept.unit === "F" ? water_c * 1.8 + 32 : water_c) * 10) / 10);
  }

  function clock(iso) {
    return new Date(iso).toLocaleString([], { weekday: "short", hour: "2-digit", minute: "2-digit" });
  }

  function bagOf(id) {
    if (!kept.bags[id]) kept.bags[id] = {};
    return kept.bags[id];
  }

  function note(day, piece, change) {
    const at = day + " " + piece;
    const before = kept.seen[at] || { condition: undefined };
    const after = Object.assign({}, before, change);
    if (after.condition === undefined) return;
    kept.seen[at] = Object.assign(after, { seen_at: now() });
    keep();
  }

  function setUpBag(article) {
    const id = article.dataset.bag;
    const water = article.querySelector("[data-field=water]");
    const wrong = article.querySelector(".wrong");
    const opened = article.querySelector(".opened");
    const when = article.querySelector(".when");
    const words = article.querySelector("[data-field=note]");
    const photo = article.querySelector("[data-field=photo]");
    const thumb = article.querySelector(".thumb");

    const show = () => {
      const bag = kept.bags[id] || {};
      when.textContent = bag.opened_at ? "opened " + clock(bag.opened_at) : "";
      opened.textContent = bag.opened_at ? "Not open yet" : "Cut open now";
      opened.classList.toggle("off", Boolean(bag.opened_at));
      article.classList.toggle("done", Boolean(bag.opened_at));
      const link = document.querySelector('[data-to="' + CSS.escape(id) + '"]');
      if (link) link.classList.toggle("done", Boolean(bag.opened_at));
      thumb.hidden = !bag.photo;
      if (bag.photo) {
        thumb.src = "data:image/jpeg;base64," + bag.photo.data;
        thumb.alt = "photo of bag " + id;
      }
    };
    const showWater = () => { water.value = shown((kept.bags[id] || {}).water_c); };

    water.addEventListener("input", () => {
      const value = celsius(water.value, kept.unit);
      const empty = water.value.trim() === "";
      const fits = value !== null && value >= 0 && value <= 45;
      wrong.textContent = empty || fits ? "" : value === null ? "A number, such as 24.5" : "Water of a bag is 0 to 45 °C (32 to 113 °F). Is the unit above right?";
      water.setAttribute("aria-invalid", String(!(empty || fits)));
      if (fits) bagOf(id).water_c = value;
      else delete bagOf(id).water_c;
      keep();
    });
    opened.addEventListener("click", () => {
      const bag = bagOf(id);
      if (bag.opened_at) delete bag.opened_at;
      else bag.opened_at = now();
      keep();
      show();
    });
    words.value = (kept.bags[id] || {}).note || "";
    words.addEventListener("input", () => { bagOf(id).note = words.value; keep(); });
    photo.addEventListener("change", async () => {
      if (!photo.files.length) return;
      try {
        bagOf(id).photo = { type: "image/jpeg", data: await small(photo.files[0]) };
      } catch (error) {
        when.textContent = "This photo cannot be read; take it as JPEG.";
        return;
      }
      keep();
      show();
    });
    article.querySelectorAll("fieldset.piece:not([data-goods])").forEach((field) => setUpPiece(field, () => {
      const bag = bagOf(id);
      if (!bag.opened_at) { bag.opened_at = now(); show(); }
    }));
    const timer = article.querySelector(".timer");
    if (timer) setUpTimer(id, timer, article.querySelector(".left"));
    byId("unit").addEventListener("change", showWater);
    showWater();
    show();
  }

  function setUpPiece(field, seenFirst) {
    const piece = field.dataset.piece;
    const placed = field.querySelector("[data-field=placed]");
    const before = kept.seen["0 " + piece] || {};
    field.querySelectorAll("input[type=radio]").forEach((radio) => {
      radio.checked = radio.value === before.condition;
      radio.addEventListener("change", () => { seenFirst(); note(0, piece, { condition: radio.value, placed: placed.checked }); });
    });
    placed.checked = Boolean(before.placed);
    placed.addEventListener("change", () => {
      const condition = (kept.seen["0 " + piece] || { condition: "well" }).condition;
      note(0, piece, { condition: condition, placed: placed.checked });
      field.querySelectorAll("input[type=radio]").forEach((radio) => { radio.checked = radio.value === condition; });
    });
  }

  function setUpTimer(id, button, left) {
    let rang = false;
    const tick = () => {
      const ends = kept.timers[id];
      if (!ends) { left.textContent = ""; button.textContent = "Start " + button.dataset.minutes + " min of floating"; return; }
      button.textContent = "Stop the timer";
      const seconds = Math.round((ends - Date.now()) / 1000);
      if (seconds > 0) {
        const text = seconds >= 60 ? Math.ceil(seconds / 60) + " min left" : "under a minute left";
        if (left.textContent !== text) left.textContent = text;
        return;
      }
      left.textContent = "Floated long enough since " + clock(new Date(ends).toISOString()) + ". Open it.";
      if (!rang && seconds > -5 && navigator.vibrate) navigator.vibrate([400, 200, 400]);
      rang = true;
    };
    button.addEventListener("click", () => {
      if (kept.timers[id]) delete kept.timers[id];
      else { kept.timers[id] = Date.now() + Number(button.dataset.minutes) * 60000; rang = false; }
      keep();
      tick();
    });
    setInterval(tick, 1000);
    tick();
  }

  async function small(file) {
    const picture = await loaded(URL.createObjectURL(file));
    const scale = Math.min(1, PHOTO_PX / Math.max(picture.naturalWidth, picture.naturalHeight));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.naturalWidth * scale));
    canvas.height = Math.max(1, Math.round(picture.naturalHeight * scale));
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    URL.revokeObjectURL(picture.src);
    return canvas.toDataURL("image/jpeg", 0.7).split(",")[1];
  }

  function loaded(address) {
    return new Promise((resolve, reject) => {
      const picture = new Image();
      picture.onload = () => resolve(picture);
      picture.onerror = reject;
      picture.src = address;
    });
  }

  function showDay() {
    document.querySelectorAll("[data-later]").forEach((field) => {
      const before = kept.seen[byId("day").value + " " + field.dataset.later] || {};
      field.querySelectorAll("input").forEach((radio) => { radio.checked = radio.value === before.condition; });
    });
  }

  // The clock of each bag follows the moment at which the receiver really starts.
  function setUpStart() {
    const start = byId("start");
    if (!start) return;
    const show = () => {
      start.textContent = kept.start ? "Not started yet" : "We start now";
      start.classList.toggle("off", Boolean(kept.start));
      byId("started").textContent = kept.start ? "Started " + clock(kept.start) + "; the times below follow it." : "";
      document.querySelectorAll("[data-times]").forEach((line) => {
        line.dataset.planned = line.dataset.planned || line.textContent;
        line.textContent = kept.start
          ? JSON.parse(line.dataset.times).map(([step, minutes]) => step + " " + timeOf(minutes)).join(" · ")
          : line.dataset.planned;
      });
    };
    // The earliest step, floating the first bag, is what starts.
    const every = [...document.querySelectorAll("[data-times]")].flatMap((line) => JSON.parse(line.dataset.times));
    const earliest = Math.min(...every.map(([, minutes]) => minutes));
    const timeOf = (minutes) =>
      new Date(new Date(kept.start).getTime() + (minutes - earliest) * 60000).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    start.addEventListener("click", () => {
      if (kept.start) delete kept.start;
      else kept.start = now();
      keep();
      show();
    });
    show();
  }

  function setUp() {
    document.documentElement.classList.add("works");
    const unit = byId("unit");
    if (!unit) return;
    unit.value = kept.unit;
    const degrees = () => document.querySelectorAll(".degree").forEach((one) => { one.textContent = "°" + kept.unit; });
    unit.addEventListener("change", () => { kept.unit = unit.value; degrees(); keep(); });
    degrees();
    document.querySelectorAll("article.bag").forEach(setUpBag);
    setUpStart();
    document.querySelectorAll("[data-later] input").forEach((radio) => {
      radio.addEventListener("change", () => note(Number(byId("day").value), radio.closest("fieldset").dataset.later, { condition: radio.value }));
    });
    byId("day").addEventListener("change", showDay);
    showDay();
    byId("save").addEventListener("click", save);
    byId("send").hidden = !plan.send_to;
    byId("send").addEventListener("click", () => send(true));
    addEventListener("online", () => send(false));
    setInterval(() => { if (navigator.onLine) send(false); }, 20000);
    tell();
  }

  setUp();
})();
