// A sheet that draws itself anew when something was written. Without this script it is as useful, only older.

const state = document.getElementById("state");
const sheet = document.getElementById("sheet");
const stream = new EventSource(`/register/stream?mark=${encodeURIComponent(document.body.dataset.mark)}`);

stream.addEventListener("open", () => say("This sheet keeps itself up to date."));
stream.addEventListener("error", () => say("No line to the register now. What stands here may be old."));
stream.addEventListener("changed", drawAnew);

async function drawAnew() {
  if (sheet.contains(document.activeElement) && document.activeElement !== sheet) return; // in use
  const answer = await fetch(location.href, { headers: { accept: "text/html" } });
  if (!answer.ok) return say("You are signed out. Text PAGE to the line for a new link.");
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById("sheet");
  if (fresh && fresh.innerHTML !== sheet.innerHTML) sheet.replaceChildren(...fresh.childNodes);
}

function say(sentence) {
  if (state.textContent !== sentence) state.textContent = sentence;
}
