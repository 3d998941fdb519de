// A slider and its number say the same.
document.addEventListener("input", (event) => {
  const slider = event.target.closest("input[data-with]");
  if (slider) document.getElementById(slider.dataset.with).value = slider.value;
  else if (event.target.id) {
    const other = document.querySelector(`input[data-with="${CSS.escape(event.target.id)}"]`);
    if (other) other.value = event.target.value;
  }
});
