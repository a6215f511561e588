// Find as typed: the list is sorted and hidden by what the server finds; without the script the form does the same.
const box = document.getElementById("q");
const list = document.getElementById("recipes");
const count = document.getElementById("count");

async function find() {
  const typed = box.value;
  const answer = await fetch(`/book/find?q=${encodeURIComponent(typed)}`);
  if (!answer.ok || typed !== box.value) return;
  const { keys } = await answer.json();
  const place = new Map(keys.map((key, n) => [key, n]));
  const rows = [...list.children].sort((a, b) => (place.get(a.dataset.key) ?? 1e9) - (place.get(b.dataset.key) ?? 1e9));
  for (const row of rows) row.hidden = !place.has(row.dataset.key);
  list.append(...rows);
  const shown = rows.filter((row) => !row.hidden).length;
  count.textContent = count.textContent.replace(/\d+/, String(shown));
}

if (box && list) box.addEventListener("input", find);
for (const name of ["with1", "with2"]) document.getElementById(name)?.setAttribute("list", "things");
