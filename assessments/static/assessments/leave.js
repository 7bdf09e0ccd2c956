// On every staff page: signing out goes by the page that says what still waits on this tablet, when anything is kept on it.
"use strict";

async function keepsSomething() {
  if (!window.indexedDB?.databases) return false;
  const known = await indexedDB.databases();
  if (!known.some(({ name }) => name === "groundwork")) return false;
  const { inState } = await import("./outbox.js");
  const { recall } = await import("./store.js");
  return Boolean((await inState("waiting")).length || (await inState("refused")).length || (await recall("config")));
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-sign-out]") || form.dataset.checked) return;
  event.preventDefault();
  if (await keepsSomething().catch(() => false)) location.assign(form.dataset.signOut);
  else {
    form.dataset.checked = "yes";
    form.submit();
  }
});
