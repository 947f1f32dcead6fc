import { byId } from '../../panel/page/element.js';
import { type FolderEars, type FolderHandle, watchFolder } from '../folder/watchedFolder.js';

/** A folder that a person lets the page read (WICG File System Access). */
interface GrantedFolder extends FolderHandle {
  requestPermission?(how: { mode: 'read' }): Promise<'granted' | 'denied' | 'prompt'>;
}
type PickFolder = (how: { id: string; mode: 'read' }) => Promise<GrantedFolder>;

/** What is remembered of the folder that was watched last. */
export interface FolderMemory {
  remember(folder: GrantedFolder): void;
  last(): Promise<GrantedFolder | null>;
}

/** The button that watches the capture folder; hidden where the browser grants no folder. */
export function makeFolderButton(ears: FolderEars, memory: FolderMemory): void {
  const pick = (window as { showDirectoryPicker?: PickFolder }).showDirectoryPicker;
  const [start, again] = [byId('watch') as HTMLButtonElement, byId('watchAgain') as HTMLButtonElement];
  const said = byId('watching');
  if (!pick) {
    byId('byHand').hidden = false;
    return;
  }
  let watch: { stop(): void } | null = null;
  let last: GrantedFolder | null = null;
  const shown = (folder: GrantedFolder | null): void => {
    start.textContent = watch ? 'end watch' : 'watch folder';
    byId('watchAllLabel').hidden = watch !== null;
    again.hidden = watch !== null || last === null;
    again.textContent = `watch ${last?.name ?? ''}`;
    said.textContent = folder ? `watching ${folder.name}: each frame that is saved there becomes a look` : '';
  };
  const begin = (folder: GrantedFolder): void => {
    last = folder;
    memory.remember(folder);
    watch = watchFolder(folder, (byId('watchAll') as HTMLInputElement).checked, {
      frames: (files) => ears.frames(files),
      trouble: (sentence) => {
        shown(folder);
        ears.trouble(sentence);
      },
    });
    shown(folder);
  };
  start.hidden = false;
  byId('watchAllLabel').hidden = false;
  start.addEventListener('click', () => {
    if (watch) {
      watch.stop();
      watch = null;
      shown(null);
      return;
    }
    // Null where the person chose none.
    void pick.call(window, { id: 'poleward', mode: 'read' }).catch(() => null).then((folder) => { if (folder) begin(folder); });
  });
  again.addEventListener('click', () => {
    const folder = last;
    if (!folder) return;
    void (folder.requestPermission?.({ mode: 'read' }) ?? Promise.resolve('granted')).then((answer) => {
      if (answer === 'granted') begin(folder);
    }).catch(() => ears.trouble(`The folder ${folder.name} can't be opened. Choose it again.`));
  });
  void memory.last().then((folder) => {
    last = folder;
    if (!watch) shown(null);
  });
}
