// The message field and its buttons: what is typed, pressed, photographed or located becomes one message.

import { make } from "./draw.js";
import { placeWords, sizeWords } from "./words.js";

const NOT_ALLOWED = "The browser did not allow the position. Allow it in the settings, or type the position.";
const NOT_FOUND = "No position came. Press again, or type the position.";
const NOT_SECURE = "This browser gives a position only over HTTPS. Type the position.";
const NOT_KEPT = "This phone could not keep that, nothing was sent. Note it on paper and free some memory.";
const FIX_MS = 30_000;

export class Composer {
  constructor(form, limits, on) {
    this.form = form;
    this.limits = limits; // {photos, photoBytes, requestBytes}, the last two in bytes
    this.on = on; // say(message): true once it is kept; hint(sentence); answered()
    this.text = form.elements.text;
    this.ready = document.getElementById("ready");
    this.photos = [];
    this.position = null;
    this.#listen();
  }

  #listen() {
    const { form, text } = this;
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.#submit(event.submitter);
    });
    text.value ||= sessionStorage.draft ?? "";
    text.addEventListener("input", () => (sessionStorage.draft = text.value));
    text.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || event.shiftKey || event.isComposing) return;
      event.preventDefault();
      form.requestSubmit(document.getElementById("send"));
    });
    form.elements.photo.addEventListener("change", (event) => this.#choose(event.target));
    document.getElementById("photos-button").hidden = false;
    const locate = document.getElementById("position");
    locate.hidden = false;
    locate.addEventListener("click", () => this.#locate());
  }

  async #submit(button) {
    const message = this.#message(button);
    if (!message) return this.on.hint("Type, press, or add a photo or a position first.");
    const whole = !button?.value; // else a button's own word, and what is in the field stays there
    if (whole) this.#put("", [], null); // at once: a second tap must not say it twice
    if (message.text && whole) this.text.focus(); // but no keyboard over the log for a photo
    const kept = await this.on.say(message).catch(() => this.on.hint(NOT_KEPT));
    if (kept && message.press) this.on.answered();
    if (!kept && whole) this.#put(message.text, message.photos, message.position);
  }

  // A button says its own word and leaves the field as it is; Send says the field and what is ready.
  #message(button) {
    const bare = { text: "", photos: [], position: null };
    if (button?.name === "press") {
      const [replyTo, ...press] = button.value.split(" ");
      return { ...bare, replyTo, press: press.join(" "), label: button.textContent };
    }
    if (button?.name === "word") return { ...bare, text: button.value };
    const text = this.text.value.trim() ? this.text.value : "";
    if (!text && !this.photos.length && !this.position) return null;
    return { text, photos: this.photos, position: this.position };
  }

  #put(text, photos, position) {
    Object.assign(this, { photos, position });
    this.text.value = sessionStorage.draft = text;
    this.#showReady();
  }

  #choose(input) {
    const chosen = [...this.photos, ...input.files];
    input.value = "";
    const { photos, photoBytes, requestBytes } = this.limits;
    const large = chosen.find((photo) => photo.size > photoBytes);
    if (large) return this.on.hint(`${large.name} is over ${sizeWords(photoBytes)}. Choose a smaller copy.`);
    const bytes = chosen.reduce((sum, photo) => sum + photo.size, 0);
    if (chosen.length > photos || bytes > requestBytes * 0.99) {
      return this.on.hint(`At most ${photos} photos and ${sizeWords(requestBytes)} go in one message.`);
    }
    this.photos = chosen;
    this.#showReady("Press Send.");
  }

  #locate() {
    if (!navigator.geolocation || !window.isSecureContext) return this.on.hint(NOT_SECURE);
    this.on.hint("Asking this phone for its position.");
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        this.position = { lat: coords.latitude, lon: coords.longitude, accuracy: coords.accuracy };
        this.#showReady("Press Send if the position is right.");
      },
      (error) => this.on.hint(error.code === error.PERMISSION_DENIED ? NOT_ALLOWED : NOT_FOUND),
      { enableHighAccuracy: true, timeout: FIX_MS, maximumAge: 0 },
    );
  }

  // What goes with the next Send, each with a way to leave it out.
  #showReady(hint) {
    const rows = this.photos.map((photo) => this.#photoRow(photo));
    if (this.position) rows.push(row([make("span", "", placeWords(this.position))], () => (this.position = null), this));
    this.ready.replaceChildren(...rows);
    this.ready.hidden = rows.length === 0;
    if (hint === undefined) return;
    this.on.hint(hint);
    document.getElementById("send").focus();
  }

  #photoRow(photo) {
    const picture = make("img");
    picture.alt = "";
    picture.src = URL.createObjectURL(photo);
    picture.onload = picture.onerror = () => URL.revokeObjectURL(picture.src);
    const words = make("span", "", `${photo.name}, ${sizeWords(photo.size)}`);
    return row([picture, words], () => (this.photos = this.photos.filter((one) => one !== photo)), this);
  }

  shown() {
    this.#showReady();
  }
}

function row(parts, leaveOut, composer) {
  const button = make("button", "", "Leave out");
  button.type = "button";
  button.addEventListener("click", () => {
    leaveOut();
    composer.shown();
  });
  const item = make("li");
  item.append(...parts, button);
  return item;
}
