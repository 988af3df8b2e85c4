// Draws the log, line after line. The same marks come from the server in templates/line.html.

import { clockWords, photoWords, placeWords } from "./words.js";

const WAITS = "waiting, not sent yet";
const SOS_WAITS = "waiting, not sent yet. Use radio or call your emergency number now.";
const SOS = /^\s*sos\b/i;

export class Log {
  constructor(page, zone, onRemove) {
    this.page = page;
    this.clock = clockWords(zone);
    this.onRemove = onRemove;
    this.alarm = document.getElementById("alarm");
    this.keys = new Map([...page.querySelectorAll(".line")].map((line) => [line.dataset.key, line]));
  }

  // A line from the past, given to a page that was opened without a line: the log as the server holds it,
  // in order. What this page drew by itself takes its place in that, and what is not in it comes behind it,
  // even where it was sent meanwhile.
  addPast(line) {
    const known = this.keys.get(line.key);
    delete known?.dataset.said;
    const next = this.page.querySelector(".line[data-said]");
    if (!known) return this.#addFromServer(line, next);
    this.#place(known, next);
  }

  // A line as it is sent. An answer may come before the delivery it answers is confirmed, so it stands
  // behind what is being sent, and before what waits. Returns whether it is in sight.
  add(line) {
    if (this.keys.has(line.key)) return true;
    if (line.urgent) this.alarm.textContent = line.text;
    return this.#addFromServer(line, this.#firstWaiting(this.beingSent));
  }

  #addFromServer(line, next) {
    if (line.who === "line" && !line.urgent) this.closeQuestions();
    const buttons = line.who === "line" ? answers(line) : null;
    return this.#add(line, line.key, buttons ? [buttons] : [], next);
  }

  // Something said on this phone that is not on record yet. A line that is there already stays as it is.
  addSaid(item) {
    const key = keyOf(item);
    if (this.keys.has(key)) return;
    const more = item.photos.length ? [photoWords(item.photos.length)] : [];
    if (item.position) more.push(placeWords(item.position));
    const line = { at: new Date(item.said).toISOString(), who: "you", text: item.label ?? item.text, more };
    this.#add({ ...line, ...this.clock(item.said) }, key, [make("p", "note", "")], null);
    this.keys.get(key).dataset.said = "yes";
    this.mark(item);
  }

  mark(item) {
    const note = this.keys.get(keyOf(item))?.querySelector(".note");
    if (!note) return;
    note.classList.toggle("waits", !item.refused);
    note.textContent = item.refused ? `not taken: ${item.refused}` : SOS.test(item.text) ? SOS_WAITS : WAITS;
    if (item.refused && !note.nextElementSibling) note.after(this.#removeButton(item));
  }

  sending(item) {
    this.beingSent = keyOf(item);
  }

  taken(item) {
    const line = this.keys.get(keyOf(item));
    line?.querySelectorAll(".note, .note + button").forEach((part) => part.remove());
  }

  drop(item) {
    this.keys.get(keyOf(item))?.remove();
    this.keys.delete(keyOf(item));
  }

  closeQuestions() {
    const focused = this.page.contains(document.activeElement);
    this.page.querySelectorAll(".answers").forEach((group) => group.remove());
    if (focused) this.page.focus({ preventScroll: true }); // else a keyboard would start over from the top
  }

  #removeButton(item) {
    const button = make("button", "", "Remove");
    button.type = "button";
    button.addEventListener("click", () => this.onRemove(item));
    return button;
  }

  #add(line, key, extras, next) {
    const follow = nearEnd() || line.who === "you";
    const row = drawn(line, key);
    row.querySelector(".entry").append(...extras);
    this.#place(row, next);
    this.keys.set(key, row);
    if (follow) toEnd();
    return follow;
  }

  // Put a row before `next`, or at the end, and see to the headings of the days.
  #place(row, next) {
    const heading = next?.previousElementSibling;
    if (heading?.matches(".day")) heading.remove();
    this.page.insertBefore(row, next);
    for (const headed of next ? [row, next] : [row]) {
      const before = headed.previousElementSibling;
      if (before?.dataset.day !== headed.dataset.day) headed.before(make("h2", "day", headed.dataset.day));
    }
    this.page.querySelectorAll(".day:has(+ .day)").forEach((empty) => empty.remove());
  }

  #firstWaiting(except) {
    const waiting = [...this.page.querySelectorAll(".line[data-said]:has(.waits)")];
    return waiting.find((row) => row.dataset.key !== except) ?? null;
  }
}

export function toEnd() {
  window.scrollTo(0, document.documentElement.scrollHeight);
}

export function nearEnd() {
  const { scrollHeight } = document.documentElement;
  return window.scrollY + window.innerHeight > scrollHeight - 120;
}

export function keyOf(item) {
  return `in:${item.who}:${item.id}`;
}

function drawn(line, key) {
  const row = make("div", line.urgent ? `line by-${line.who} urgent` : `line by-${line.who}`);
  row.dataset.key = key;
  row.dataset.day = line.day;
  const time = make("time", "", line.time);
  time.dateTime = line.at;
  const said = make("p");
  said.append(make("b", "who", line.who), " ");
  if (line.urgent) said.append(make("b", "mark", "urgent"), " ");
  said.append(make("span", "text", line.text));
  const entry = make("div", "entry");
  entry.append(said, ...line.more.map((told) => make("p", "more", told)));
  if (line.link) entry.append(linkTo(line.link));
  if (line.drawing) entry.append(chart(line.drawing));
  row.append(time, entry);
  return row;
}

function chart(address) {
  const picture = make("img", "drawn");
  Object.assign(picture, { src: address, width: 320, height: 250, alt: "Chart of the figures above" });
  return picture;
}

function linkTo(address) {
  const told = make("p", "more");
  const link = make("a", "button", "Open the register");
  link.href = address;
  told.append(link);
  return told;
}

function answers(line) {
  if (!line.asks && line.choices.length === 0) return null;
  const group = make("div", "answers");
  group.setAttribute("role", "group");
  group.setAttribute("aria-label", "Answers");
  group.append(...line.choices.map(({ id, label }) => answer("press", `${line.key} ${id}`, label)));
  if (line.asks) group.append(answer("word", "SKIP", "SKIP"), answer("word", "WRONG", "WRONG"));
  return group;
}

function answer(name, value, label) {
  const button = make("button", "", label);
  button.setAttribute("form", "say");
  button.name = name;
  button.value = value;
  return button;
}

export function make(tag, className = "", text = "") {
  const element = document.createElement(tag);
  if (className) element.className = className;
  element.textContent = text;
  return element;
}
