// Nobody is signed in: forget who was, and the page kept for when there is no line.
// What that person has not sent yet stays, out of sight, until they sign in here again.

import { Waiting } from "./waiting.js";

sessionStorage.clear();
const waiting = await Waiting.open();
await waiting.setMe("");
if ("caches" in self) {
  for (const name of await caches.keys()) await caches.delete(name);
}
