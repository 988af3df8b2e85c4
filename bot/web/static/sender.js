// Sends what waits: in the order it was said, one at a time, each until the line has it on record.

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 60_000;
const TEXT_MS = 20_000;
const SLOWEST_BYTES_PER_MS = 5; // a photo is given this long before it is tried again
const REFUSED = new Set([413, 415, 422]); // this message will never be taken: the next ones still go
const BLOCKED = new Set([401, 403, 409, 421]); // nothing will be taken until the person does something

export class Sender {
  constructor(waiting, who, on) {
    this.waiting = waiting;
    this.who = who;
    this.on = on; // sending(item), taken(item), refused(item, sentence), state(sentence)
    this.wait = FIRST_WAIT_MS;
    this.running = false;
    this.again = false;
  }

  // Try now. While a round runs, one more follows it, so that nothing added meanwhile is left.
  async kick() {
    clearTimeout(this.timer);
    this.again = this.running;
    if (this.running) return;
    this.running = true;
    try {
      await oneTabAtATime(() => this.#round());
    } finally {
      this.running = false;
    }
    if (this.again) await this.kick();
  }

  async #round() {
    for (;;) {
      const item = (await this.waiting.all(this.who)).find((one) => !one.refused);
      if (!item) return this.on.state("");
      this.on.sending(item);
      const { status, sentence, waitMs } = await post(item);
      if (status === 200) await this.#taken(item);
      else if (REFUSED.has(status)) await this.#refused(item, sentence);
      else if (BLOCKED.has(status)) return this.on.state(sentence);
      else return this.#later(sentence, waitMs);
    }
  }

  async #taken(item) {
    this.wait = FIRST_WAIT_MS;
    await this.waiting.remove(item);
    this.on.taken(item);
  }

  async #refused(item, sentence) {
    await this.waiting.refuse(item, sentence);
    this.on.refused(item, sentence);
  }

  #later(sentence, waitMs) {
    const wait = Math.max(waitMs, this.wait * (0.75 + Math.random() / 2));
    this.wait = Math.min(this.wait * 2, LONGEST_WAIT_MS);
    this.timer = setTimeout(() => this.kick(), wait);
    this.on.state(sentence);
  }
}

// Two tabs share the queue. Where the browser has no locks, the line tells the second delivery by its id.
function oneTabAtATime(act) {
  return navigator.locks ? navigator.locks.request("field-log-sender", act) : act();
}

// {status, sentence, waitMs}; status 0 where no answer came, 200 only where the line itself says taken.
async function post(item) {
  const bytes = item.photos.reduce((sum, photo) => sum + photo.size, 0);
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), TEXT_MS + bytes / SLOWEST_BYTES_PER_MS);
  try {
    const answer = await fetch("/chat/messages", { method: "POST", body: formOf(item), signal: stop.signal });
    return await read(answer);
  } catch {
    return { status: 0, sentence: "", waitMs: 0 };
  } finally {
    clearTimeout(timer);
  }
}

async function read(answer) {
  const told = await answer.json().catch(() => ({}));
  const waitMs = 1000 * (Number(answer.headers.get("retry-after")) || 0);
  const sentence = told.sentence ?? (answer.status === 413 ? "That is too large for this line." : "");
  const ours = answer.status !== 200 || typeof told.state === "string"; // else some page in between answered
  return { status: ours ? answer.status : 0, sentence, waitMs };
}

function formOf(item) {
  const form = new FormData();
  const fields = {
    id: item.id, who: item.who, sent_at: item.said, text: item.text, press: item.press, reply_to: item.replyTo,
    lat: item.position?.lat, lon: item.position?.lon, accuracy: item.position?.accuracy,
  };
  for (const [name, value] of Object.entries(fields)) {
    if (value !== undefined && value !== null && value !== "") form.append(name, value);
  }
  for (const photo of item.photos) form.append("photo", photo, photo.name);
  return form;
}
