"use strict";
// Another grid is chosen: the page is asked again with all that is typed, and draws that grid.
//
//   <select data-redraws> and <button name="redraw"> in the same form; without script the button.
for (const field of document.querySelectorAll("[data-redraws]")) {
  field.addEventListener("change", () => {
    const button = field.form.querySelector("button[name=redraw]");
    if (button) field.form.requestSubmit(button);
  });
}
