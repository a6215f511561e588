// Find as typed: the server sends the rows that hold what is typed; without the script the form does the same.
const form = document.getElementById("find");
const list = document.getElementById("recipes");
let asked = 0;

async function find() {
  const mine = ++asked;
  const answer = await fetch(`/book/find?${new URLSearchParams(new FormData(form))}`);
  const rows = await answer.text();
  if (answer.ok && mine === asked) list.innerHTML = rows; // an older answer never overwrites a newer one
}

if (form && list) form.addEventListener("input", find);
for (const name of ["with1", "with2"]) document.getElementById(name)?.setAttribute("list", "things");

// A form of lines offers one more empty line as soon as the last one is begun.
for (const lines of document.querySelectorAll(".lines")) lines.addEventListener("input", () => {
  const all = [...lines.querySelectorAll(".line")];
  const last = all.at(-1);
  if (!last.querySelector("input, textarea").value || all.length >= 200) return;
  const more = last.cloneNode(true);
  for (const field of more.querySelectorAll("input, select, textarea")) {
    field.name = field.name.replace(/\d+$/, String(all.length));
    field.removeAttribute("aria-invalid");
    if (field.type === "checkbox") field.checked = false;
    else field.value = "";
  }
  for (const wrong of more.querySelectorAll(".wrong")) wrong.remove();
  last.after(more);
});
