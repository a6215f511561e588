// What is in a mixed box is asked for only of a mixed box.
const what = document.getElementById("recipe"), inside = document.getElementById("box-of");
const show = () => { inside.hidden = what.value !== "box:"; };
what.addEventListener("change", show);
show();
