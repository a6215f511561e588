// Sound is a matter of this device and kept in it.
import { isOn, set } from "./sound.js";

for (const box of document.querySelectorAll("[data-sound]")) {
  box.checked = isOn(box.dataset.sound);
  box.addEventListener("change", () => set(box.dataset.sound, box.checked));
}
