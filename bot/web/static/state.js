// The one sentence above the message field: whether there is a line, what waits, what went wrong.

export class State {
  constructor(element, keeps) {
    this.element = element;
    this.keeps = keeps;
    this.connected = null; // not known yet
    this.waits = 0;
    this.stop = ""; // why nothing is taken now
    this.hint = element.textContent; // what the last thing done came to
  }

  set(changes) {
    Object.assign(this, changes);
    const words = [this.hint, this.stop, this.#line(), this.#waits()].filter(Boolean).join(" ");
    if (words !== this.element.textContent) this.element.textContent = words;
  }

  #line() {
    if (this.connected === null) return "Looking for the line.";
    return this.connected ? "" : "No connection.";
  }

  #waits() {
    if (!this.waits) return this.connected && !this.hint && !this.stop ? "Connected, nothing waits." : "";
    const kept = this.keeps ? "kept on this phone" : "leave this page open, this browser keeps nothing";
    return `${this.waits} not sent yet, ${kept}.`;
  }
}
