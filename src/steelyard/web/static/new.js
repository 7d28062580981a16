const box = document.getElementById("has-trailer");
const fields = document.getElementById("trailer-fields");
const show = () => { fields.hidden = !box.checked; };
box.addEventListener("change", show);
show();
