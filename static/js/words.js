"use strict";
// The words that scripts say, translated by the server: <template id="words"> in the page's foot.
window.shedWords = (name, values = {}) => {
  const found = document.getElementById("words")?.content.querySelector(`[data-word="${name}"]`);
  const text = found ? found.textContent : name;
  return text.replace(/\{(\w+)\}/g, (whole, key) => (key in values ? values[key] : whole));
};
