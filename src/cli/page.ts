import type { Command } from 'commander';

interface PageOptions {
  readonly out: string;
  readonly overwrite?: boolean;
  readonly night?: boolean;
  readonly json?: boolean;
}

/** Adds `poleward page`. What it needs is loaded when it runs. */
export function addPageCommand(program: Command): void {
  program.command('page')
    .description('writes the whole program as a web page: a folder for any web server, or one file')
    .requiredOption('--out <place>', 'a folder, made if it does not exist; or a file that ends in .html, with all of it inside')
    .option('--overwrite', 'replace files that exist')
    .option('--night', 'dim red text')
    .option('--json', 'for programs')
    .action(async ({ out, overwrite, night, json }: PageOptions) => {
      const { writePage } = await import('./pageFiles.js');
      const { say, sayJson } = await import('./output.js');
      const written = writePage(out, overwrite ?? false);
      if (json) sayJson({ schema: 'poleward/page-1', out, ...written });
      else say(written.form === 'single'
        ? `${out}: open it in a browser; it needs no network.`
        : `${written.files.length} files in ${out}: put them on a web server (https, for use without a network).`, night ?? false);
    });
}
