// Pictures made small on the phone, spoken notes, and the drawn signs of the crew's page.
"use strict";

Field.pictures = (() => {
  const LONGEST = 1600; // px
  const LIGHTEST = [0.82, 0.7, 0.55];
  const MOST_BYTES = 700000;
  const MOST_AS_IS = 20000000; // of a picture that this browser cannot read; the farm's computer may

  async function draw(bitmap, longest) {
    const scale = Math.min(1, longest / Math.max(bitmap.width, bitmap.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(bitmap.width * scale));
    canvas.height = Math.max(1, Math.round(bitmap.height * scale));
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
    return canvas;
  }

  const jpeg = (canvas, quality) => new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", quality));

  // The picture upright, without what the camera wrote into it, and light enough for a weak signal.
  // Where the farm keeps that, the picture goes as the camera made it.
  async function shrink(file, keepsData) {
    let bitmap;
    try {
      bitmap = await createImageBitmap(file, { imageOrientation: "from-image" });
    } catch {
      return file.size && file.size <= MOST_AS_IS && /^image\/|^$/.test(file.type) ? asItIs(file) : null;
    }
    const canvas = await draw(bitmap, LONGEST);
    const small = (await draw(bitmap, 160)).toDataURL("image/jpeg", 0.6);
    bitmap.close();
    if (keepsData && file.size <= MOST_AS_IS) return { ...(await asItIs(file)), small };
    for (const quality of LIGHTEST) {
      const blob = await jpeg(canvas, quality);
      if (blob && (blob.size <= MOST_BYTES || quality === LIGHTEST.at(-1))) {
        return { bytes: await blob.arrayBuffer(), type: "image/jpeg", file: "picture.jpg", small };
      }
    }
    return asItIs(file);
  }

  const asItIs = async (file) => ({ bytes: await file.arrayBuffer(), type: file.type || "image/heic", file: file.name || "picture.heic", small: "" });

  return { shrink };
})();

Field.voice = (() => {
  const LONGEST = 120; // s
  let recorder = null;

  async function start(tick, done) {
    const stream = await navigator.mediaDevices.getUserMedia({ audio: true });
    const pieces = [];
    const begun = Date.now();
    recorder = new MediaRecorder(stream);
    const timer = setInterval(() => {
      const seconds = Math.round((Date.now() - begun) / 1000);
      tick(seconds);
      if (seconds >= LONGEST) stop();
    }, 500);
    recorder.ondataavailable = (event) => pieces.push(event.data);
    recorder.onstop = async () => {
      clearInterval(timer);
      stream.getTracks().forEach((track) => track.stop());
      const type = (recorder.mimeType || "audio/webm").split(";")[0];
      recorder = null;
      const bytes = await new Blob(pieces).arrayBuffer();
      const file = `note.${type.includes("mp4") ? "m4a" : type.includes("ogg") ? "ogg" : "webm"}`;
      if (bytes.byteLength) done({ bytes, type, file, seconds: Math.max(1, Math.round((Date.now() - begun) / 1000)) });
    };
    recorder.start();
  }

  const stop = () => recorder && recorder.state !== "inactive" && recorder.stop();
  const isAble = () => Boolean(self.MediaRecorder && navigator.mediaDevices);
  return { start, stop, isAble, isOn: () => Boolean(recorder) };
})();

// Signs on a grid of 32: lines as on a drawing. Each stands beside its words.
Field.signs = (() => {
  const screw = "M11 6h10l-2 5h-6zM13 11v12l3 4 3-4V11M13 15l6-2M13 19l6-2M13 23l6-2";
  const SIGNS = {
    secured: "M4 28V16C4 9 9 5 16 3c7 2 12 6 12 13v12zM10 18l4 5 8-10",
    fixed: "M20 4a7 7 0 0 0-6 9L4 23a3 3 0 0 0 5 5l10-10a7 7 0 0 0 9-8l-5 4-4-1-1-4z",
    needs_part: "M13 3h6v4h4v5l-3 2v4l3 2v5h-4v4h-6v-4H9v-5l3-2v-4l-3-2V7h4zM16 12v5M16 20v2",
    danger: "M16 3 30 28H2zM16 11v8M16 22v3",
    cannot: "M16 3a13 13 0 1 0 .1 0zM7 7l18 18",
    checked: "M2 16c5-9 23-9 28 0-5 9-23 9-28 0zM16 12a4 4 0 1 0 .1 0z",
    photo: "M3 9h7l2-4h8l2 4h7v18H3zM16 12a5.500 5.500 0 1 0 .1 0z",
    none: "M6 6l20 20M26 6 6 26",
    door: "M4 29V13C6 7 10 5 16 3c6 2 10 4 12 10v16zM10 29V14h12v15M7 20h18",
    storm: "M3 11h15a4 4 0 1 0-4-4M3 17h22a4 4 0 1 1-4 4M3 23h10a3 3 0 1 1-3 3",
    job: "M8 5h16v24H8zM12 3h8v4h-8zM11 13l2 2 3-4M18 14h4M11 21l2 2 3-4M18 22h4",
    miss: "M4 26 14 8l5 8M19 16l4-6 6 16M2 28h28M24 3l1 3M29 5l-3 2M20 4l2 3",
    home: "M3 15 16 4l13 11M7 13v15h18V13M13 28v-8h6v8",
    waiting: "M8 3h16M8 29h16M10 3c0 8 5 9 6 13-1 4-6 5-6 13M22 3c0 8-5 9-6 13 1 4 6 5 6 13",
    sent: "M5 17l7 8L27 7",
    undo: "M12 6 5 13l7 7M5 13h14a7 7 0 0 1 0 14h-6",
    voice: "M16 3a4 4 0 0 0-4 4v9a4 4 0 0 0 8 0V7a4 4 0 0 0-4-4zM7 15a9 9 0 0 0 18 0M16 24v5M11 29h10",
    next: "M5 16h21M18 8l8 8-8 8",
    loose: `${screw}M4 8c2-3 4-3 5-1M28 8c-2-3-4-3-5-1M5 4l-1 4 4 1M27 4l1 4-4 1`,
    spun: `${screw}M3 20a13 6 0 0 0 8 5M29 20a13 6 0 0 1-8 5M3 25v-5h5M29 25v-5h-5`,
    missing: "M16 5a11 11 0 1 0 .1 0zM13 13c0-4 6-4 6 0 0 3-3 2-3 6M16 22v2",
    bent: "M4 24h8c6 0 6-14 12-16h4M4 28h10c7 0 7-14 12-16h2",
    broken: "M3 13h10l3-4 1 8 2-4M3 19h8l3-3 1 8M29 13h-6l-2 4-2-3 1 6 2-1h7",
    torn: "M4 5h24v22H4zM16 5l-3 6 5 4-5 5 3 7",
    holed: "M4 5h24v22H4zM12 13l4-3 5 2 1 5-4 4-5-1-2-4z",
    brittle: "M4 5h24v22H4zM16 16 9 8M16 16l9-6M16 16l-8 7M16 16l6 9M12 12l-1 5M20 13l2 5",
    hazy: "M4 5h24v22H4zM8 11h16M8 16h10M21 16h3M8 21h4M15 21h9",
    slipped: "M4 8h14v7H4zM14 17h14v7H14zM7 28h9M13 25l3 3-3 3M9 18v4",
    leaning: "M3 29h26M9 29 17 4l4 1-7 24M25 29V5",
    corroded: "M5 9h22v14H5zM9 13a1 1 0 1 0 .1 0zM15 17a2 2 0 1 0 .1 0zM22 12a1.500 1.500 0 1 0 .1 0zM21 19a1 1 0 1 0 .1 0zM10 19a1 1 0 1 0 .1 0z",
    rotten: "M5 6h22v20l-4-3-3 4-4-5-3 5-4-4-4 3zM9 11h14M9 16h9",
    jammed: "M3 12h9v8H3zM20 12h9v8h-9zM12 16h8M14 9l2 3 2-3M14 23l2-3 2 3",
    chafed: "M4 10c8-4 16 4 24 0M4 15c3-2 6 0 8 0M20 15c3 1 6 1 8 0M4 20c8-4 16 4 24 0M13 12l3 6M16 12l3 6",
    dead: "M16 4v11M9 8a11 11 0 1 0 14 0M5 5l22 22",
    other: "M8 15a1.500 1.500 0 1 0 .1 0zM16 15a1.500 1.500 0 1 0 .1 0zM24 15a1.500 1.500 0 1 0 .1 0z",
  };
  const SAME = { near_miss: "miss", job_done: "job", details: "other" };
  const SVG = "http://www.w3.org/2000/svg";

  return (name) => {
    const drawing = document.createElementNS(SVG, "svg");
    drawing.setAttribute("viewBox", "0 0 32 32");
    drawing.setAttribute("class", "sign");
    drawing.setAttribute("aria-hidden", "true");
    const line = document.createElementNS(SVG, "path");
    line.setAttribute("d", SIGNS[SAME[name] || name] || SIGNS.other);
    drawing.append(line);
    return drawing;
  };
})();
