// At the bench: each step keeps its own time, goes out again by itself when the connection is back, and a
// label is read live where the browser can.

for (const form of document.querySelectorAll("form[data-again]")) {
  form.addEventListener("submit", () => {
    const at = form.elements.done_at;
    if (at && !at.value) at.value = new Date().toISOString();
  });
  const again = () => {
    if (form.querySelector(":scope > .form-status") && !form.dataset.sending && form.elements.done_at?.value) form.requestSubmit();
  };
  addEventListener("online", again);
  setInterval(again, 10000);
}

// A label's code is put into the field and looked up at once.
const scan = document.getElementById("scan");
const canScan = "BarcodeDetector" in window && navigator.mediaDevices?.getUserMedia;
if (scan && canScan) {
  const box = document.getElementById("scanner");
  const view = document.getElementById("scan-view");
  const status = document.getElementById("scan-status");
  let stream = null;
  const stop = () => {
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    box.hidden = true;
    scan.hidden = false;
  };
  const look = async (detector) => {
    if (!stream) return;
    const codes = await detector.detect(view).catch(() => []);
    const label = codes.map((code) => code.rawValue).find((text) => text.startsWith("ramet:bag:"));
    if (label) {
      stop();
      const field = document.getElementById("bag");
      field.value = label;
      field.form.requestSubmit();
      return;
    }
    setTimeout(() => look(detector), 150);
  };
  scan.addEventListener("click", async () => {
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch {
      status.textContent = "The camera may not be used here. Take a photo of the label, or type the bag's name.";
      box.hidden = false;
      return;
    }
    view.srcObject = stream;
    await view.play();
    box.hidden = false;
    scan.hidden = true;
    status.textContent = "Hold the label's code into the picture.";
    look(new BarcodeDetector({ formats: ["qr_code"] }));
  });
  document.getElementById("scan-stop").addEventListener("click", stop);
  scan.hidden = false;
}

// A photo of a label needs no further press.
document.getElementById("label-photo")?.addEventListener("change", (event) => {
  if (event.target.files.length) event.target.form.requestSubmit();
});
