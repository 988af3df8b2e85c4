// Listens for new lines. After a cut it asks from the last line it has; while out of sight it rests.

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 30_000;
const SILENCE_MS = 45_000; // three heartbeats: a line that died without a word

export class Listener {
  constructor(after, on) {
    this.after = after; // null where the page holds no line yet
    this.on = on; // past(line), line(line), connected(yes), signedOut()
    this.wait = FIRST_WAIT_MS;
  }

  // Listen from now on. A connection that is open stays.
  start() {
    clearTimeout(this.timer);
    if (document.hidden || (this.source && this.source.readyState !== EventSource.CLOSED)) return;
    this.source = new EventSource(this.after === null ? "/chat/stream" : `/chat/stream?after=${this.after}`);
    this.source.onopen = () => this.#opened();
    this.source.onerror = () => this.#cut();
    for (const kind of ["past", "line"]) {
      this.source.addEventListener(kind, (event) => this.#line(kind, JSON.parse(event.data)));
    }
    this.source.addEventListener("beat", () => this.#heard());
    this.#heard();
  }

  rest() {
    clearTimeout(this.timer);
    clearTimeout(this.silence);
    this.source?.close();
  }

  #heard() {
    clearTimeout(this.silence);
    this.silence = setTimeout(() => this.#cut(), SILENCE_MS);
  }

  #opened() {
    this.wait = FIRST_WAIT_MS;
    this.on.connected(true);
  }

  #cut() {
    if (this.source.readyState === EventSource.CLOSED) askWhy(this.on); // an answer, but no stream
    this.rest();
    this.on.connected(false);
    this.timer = setTimeout(() => this.start(), this.wait);
    this.wait = Math.min(this.wait * 2, LONGEST_WAIT_MS);
  }

  #line(kind, line) {
    this.#heard();
    this.after = Math.max(this.after ?? 0, line.row);
    this.on[kind](line);
  }
}

// An event source does not tell the status of the answer it was given.
async function askWhy(on) {
  const answer = await fetch("/chat/shell", { method: "HEAD" }).catch(() => null);
  if (answer?.status === 401) on.signedOut();
}
