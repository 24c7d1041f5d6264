// What our scripts find in a browser and the compiler's own lists do not name.
declare const L: any; // Leaflet, which comes without types

interface Navigator {
  readonly standalone?: boolean; // iOS: opened from the home screen
  readonly wakeLock: { request(kind: "screen"): Promise<WakeLock> };
}
interface WakeLock extends EventTarget {
  readonly released: boolean;
  release(): Promise<void>;
}
