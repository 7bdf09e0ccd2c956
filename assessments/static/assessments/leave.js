// On every staff page: signing out goes by the page that says what still waits on this tablet, when anything is kept on it;
// and a day whose time is over goes from the tablet.
"use strict";

// A browser that cannot list its stores is asked for this one: opening it does no harm where there is none.
async function hasStore() {
  if (!window.indexedDB) return false;
  if (!indexedDB.databases) return true;
  return (await indexedDB.databases()).some(({ name }) => name === "groundwork");
}

async function keepsSomething() {
  if (!(await hasStore())) return false;
  const { inState, lines, readAll } = await import("./outbox.js");
  const { recall } = await import("./store.js");
  await readAll();
  return Boolean((await inState("waiting")).length || (await inState("refused")).length || lines.length || (await recall("config")));
}

async function clearOld() {
  if (!(await hasStore())) return;
  const { expire } = await import("./holdings.js");
  const { recall } = await import("./store.js");
  const { prepare, reconcile } = await import("./sender.js");
  const config = await recall("config");
  if (config) prepare(config);
  const gone = await expire({ before: async (day) => config && reconcile({ day, left: true }) });
  if (gone.includes(config?.day)) await (await import("./updates.js")).clearPages();
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
clearOld().catch(() => undefined);
