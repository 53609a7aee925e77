// The browser's store that says when something really is on the disk. `localStorage` is what every tab sees at once, but
// a browser may write it a minute later: whoever is killed before loses that minute.

const DISK = "gate-diagnose";
const SHELF = "visits";
const OPENED_WITHIN = 3000; // milliseconds; a browser that does not answer does not keep the page from beginning

class Disk {
  constructor(base) { this.base = base; }

  // null where the browser has none for this page.
  static open() {
    return new Promise((opened) => {
      setTimeout(opened, OPENED_WITHIN, null);
      try {
        const asked = indexedDB.open(DISK, 1);
        asked.onupgradeneeded = () => asked.result.createObjectStore(SHELF);
        asked.onsuccess = () => opened(new Disk(asked.result));
        asked.onerror = () => opened(null);
      } catch {
        opened(null);
      }
    });
  }

  // Resolves when it is on the disk.
  write(id, text) { return this.done((shelf) => shelf.put(text, id)); }

  remove(id) { return this.done((shelf) => shelf.delete(id)); }

  done(action) {
    return new Promise((kept, failed) => {
      const work = this.base.transaction(SHELF, "readwrite", { durability: "strict" });
      action(work.objectStore(SHELF));
      work.oncomplete = kept;
      work.onabort = failed;
    });
  }

  // [[id, text]] of everything kept.
  all() {
    return new Promise((read, failed) => {
      const found = [];
      const asked = this.base.transaction(SHELF).objectStore(SHELF).openCursor();
      asked.onerror = failed;
      asked.onsuccess = () => {
        const at = asked.result;
        if (!at) return read(found);
        found.push([at.key, at.value]);
        return at.continue();
      };
    });
  }
}
