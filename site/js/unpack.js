// The scripts of the page travel packed (zlib, base64), or it would be twice as large. A browser
// that cannot unpack or run them goes on showing the whole tree as a document.
(async (packed) => {
  const root = document.documentElement;
  root.classList.add('starting');
  try {
    const bytes = Uint8Array.from(atob(packed), (one) => one.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('deflate'));
    const script = document.createElement('script');
    script.textContent = await new Response(stream).text();
    document.head.append(script);
  } finally {
    root.classList.remove('starting');
  }
})(document.currentScript.dataset.packed);
