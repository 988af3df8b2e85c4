// The field log with script: what is said is kept on this phone first, then sent, then on record.

import { Composer } from "./compose.js";
import { Log, nearEnd, toEnd } from "./draw.js";
import { Listener } from "./listen.js";
import { Sender } from "./sender.js";
import { State } from "./state.js";
import { Waiting, freshId } from "./waiting.js";

const SIGNED_OUT = "You are not signed in on this phone. Ask your supervisor for a sign-in link.";
const NEW_BELOW = "A new line is below.";
const { dataset } = document.body;
const bare = dataset.bare === "yes"; // the kept page, opened without a line

const waiting = await Waiting.open();
const who = bare ? await waiting.me() : dataset.who;
if (!bare) await waiting.setMe(who);

const state = new State(document.getElementById("state"), waiting.keeps);
const log = new Log(document.getElementById("log"), dataset.zone, remove);
const others = new BroadcastChannel("field-log"); // the same person's other tabs
const sender = new Sender(waiting, who, {
  sending: (item) => log.sending(item),
  taken,
  refused,
  state: (stop) => count({ stop }),
});
const listener = new Listener(bare ? null : Number(dataset.last), {
  past: (line) => log.addPast(line),
  line: (line) => log.add(line) || state.set({ hint: NEW_BELOW }),
  connected: (connected) => {
    state.set(connected ? { connected, stop: "" } : { connected });
    if (connected) sender.kick();
  },
  signedOut: () => state.set({ stop: SIGNED_OUT }),
});

async function say(message) {
  if (!who) {
    state.set({ stop: SIGNED_OUT });
    return false;
  }
  const item = { ...message, id: freshId(), who, said: Date.now() };
  item.n = await waiting.add(item);
  log.addSaid(item);
  tell("said", item);
  await count({ hint: "" });
  sender.kick();
  return true;
}

async function taken(item) {
  log.taken(item);
  tell("taken", item);
  await count({ hint: "" });
}

async function refused(item, sentence) {
  log.mark({ ...item, refused: sentence });
  tell("refused", { ...item, refused: sentence });
  await count({});
}

async function remove(item) {
  await waiting.remove(item);
  log.drop(item);
  tell("removed", item);
  await count({});
}

async function count(changes) {
  const items = await waiting.all(who);
  state.set({ ...changes, waits: items.filter((item) => !item.refused).length });
}

function tell(what, item) {
  others.postMessage({ what, item });
}

others.onmessage = async ({ data: { what, item } }) => {
  if (item.who !== who) return;
  if (what === "said") log.addSaid(item);
  if (what === "taken") log.taken(item);
  if (what === "refused") log.mark(item);
  if (what === "removed") log.drop(item);
  await count({});
};

function wake() {
  if (document.hidden) return listener.rest();
  listener.start();
  sender.kick();
}

function askBeforeLeaving(form) {
  let asked = false;
  form?.addEventListener("submit", (event) => {
    if (asked || state.waits === 0) return;
    asked = true;
    event.preventDefault();
    state.set({ hint: "What is not sent stays here until you sign in again. Press Sign out once more to leave." });
  });
}

function keepForOffline() {
  const workers = navigator.serviceWorker;
  if (!workers) return; // plain http beyond loopback: the page must be open before the line is lost
  workers.register("/sw.js");
  workers.controller?.postMessage("keep");
  navigator.storage?.persist?.();
}

for (const item of await waiting.all(who)) log.addSaid(item);
document.documentElement.classList.add("script");
new Composer(document.getElementById("say"), {
  photos: Number(dataset.photos),
  photoBytes: Number(dataset.photoBytes),
  requestBytes: Number(dataset.requestBytes),
}, { say, hint: (hint) => state.set({ hint }), answered: () => log.closeQuestions() });
askBeforeLeaving(document.getElementById("leave"));
document.addEventListener("visibilitychange", wake);
document.addEventListener("scroll", () => {
  if (state.hint === NEW_BELOW && nearEnd()) state.set({ hint: "" });
}, { passive: true });
window.addEventListener("online", wake);
window.addEventListener("pageshow", wake);
if (!bare) keepForOffline();
await count({});
toEnd();
wake();
