/** Which of the two forms this page was built as. */
declare const FORM: 'folder' | 'single';

/**
 * Lets the page be had without a network from now on, where the browser does that (secure contexts). A newer version is taken at the next
 * start, never in the middle of a night.
 */
export function makeOffline(said: (sentence: string) => void): void {
  if (FORM !== 'folder' || !('serviceWorker' in navigator)) return;
  void navigator.serviceWorker.register('service.js').then((registration) => {
    const watch = (): void => {
      const next = registration.installing;
      next?.addEventListener('statechange', () => {
        // The first one replaces nothing.
        if (next.state === 'installed' && navigator.serviceWorker.controller) {
          said('A newer version of this page is ready. You get it when you next open the page.');
        }
      });
    };
    watch();
    registration.addEventListener('updatefound', watch);
  }).catch(() => {
    // Without it the page works as long as it is open.
  });
}
