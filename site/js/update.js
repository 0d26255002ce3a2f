// A copy of the pages for days without a network, where they come from a static host. On
// file:// there is nothing to do: the page is the copy.
const Update = (() => {
  // `told` is handed a function that brings in a newer edition, once there is one.
  async function watch(told) {
    if (!/^https?:$/.test(location.protocol)) return;
    const link = document.createElement('link');
    link.rel = 'manifest';
    link.href = 'manifest.webmanifest';
    document.head.append(link);
    if (!('serviceWorker' in navigator)) return;
    let wanted = false;
    navigator.serviceWorker.addEventListener('controllerchange', () => {
      if (wanted) location.reload();
    });
    try {
      const kept = await navigator.serviceWorker.register('sw.js');
      const look = () => {
        if (!kept.waiting || !navigator.serviceWorker.controller) return;
        told(() => {
          wanted = true;
          kept.waiting?.postMessage('take over');
        });
      };
      look();
      kept.addEventListener('updatefound', () => kept.installing?.addEventListener('statechange', look));
    } catch {
      // no worker beside this page, or none allowed: the page works as long as it can be read
    }
  }

  return { watch };
})();
