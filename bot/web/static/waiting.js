// What has been said on this phone and is not on record yet, in the order it was said.
//
// An item: {n, id, who, said, text, press, label, replyTo, position, photos, refused}
//   n        place in the queue, given by the database
//   id       made here once; the line takes a second delivery of the same id as the same message
//   who      the person it was said by; it is never sent for anybody else
//   said     milliseconds since 1970, when it was said
//   photos   the files as they were chosen
//   refused  a sentence where the line would not take it

const NAME = "field-log";

export class Waiting {
  static async open() {
    try {
      const db = await opened();
      return new Waiting(db);
    } catch {
      return new InMemory();
    }
  }

  constructor(db) {
    this.db = db;
    this.keeps = true;
  }

  add(item) {
    return this.#run("items", "readwrite", (items) => items.add(item));
  }

  async all(who) {
    const items = await this.#run("items", "readonly", (items) => items.getAll());
    return items.filter((item) => item.who === who);
  }

  refuse(item, sentence) {
    return this.#run("items", "readwrite", (items) => items.put({ ...item, refused: sentence }));
  }

  remove(item) {
    return this.#run("items", "readwrite", (items) => items.delete(item.n));
  }

  async me() {
    return (await this.#run("notes", "readonly", (notes) => notes.get("me"))) ?? "";
  }

  setMe(who) {
    return this.#run("notes", "readwrite", (notes) => notes.put(who, "me"));
  }

  // Resolves once the transaction is complete, on disk as far as the browser can promise.
  #run(store, mode, act) {
    return new Promise((resolve, reject) => {
      const transaction = this.db.transaction(store, mode, { durability: "strict" });
      const request = act(transaction.objectStore(store));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  }
}

// For a browser that keeps nothing, as in some private windows; the page says so.
class InMemory {
  constructor() {
    this.keeps = false;
    this.items = [];
    this.next = 1;
    this.name = "";
  }

  async add(item) {
    this.items.push({ ...item, n: this.next });
    return this.next++;
  }

  async all(who) {
    return this.items.filter((item) => item.who === who);
  }

  async refuse(item, sentence) {
    this.items = this.items.map((one) => (one.n === item.n ? { ...one, refused: sentence } : one));
  }

  async remove(item) {
    this.items = this.items.filter((one) => one.n !== item.n);
  }

  async me() {
    return this.name;
  }

  async setMe(who) {
    this.name = who;
  }
}

function opened() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("items", { keyPath: "n", autoIncrement: true });
      request.result.createObjectStore("notes");
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = request.onblocked = () => reject(request.error);
  });
}

// A version 4 UUID (RFC 9562); crypto.randomUUID is missing on plain http beyond loopback.
export function freshId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}
