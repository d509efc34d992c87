// Reviews the examples on Python 3.14 as WebAssembly, for machines that have no 3.14 of their own:
//
//     npm install --prefix DIR pyodide@314
//     python -m pip install --target DIR/site --no-deps --no-binary pyyaml dist/formcheck-*.whl pyyaml tomli pluggy
//     node tests/release/python_3_14.mjs DIR
//
// Warnings of deprecation are errors. There are no processes, no git and no libyaml in there. Ends with 0 if all is well.
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const folder = path.resolve(process.argv[2]);
const home = path.resolve(path.dirname(fileURLToPath(import.meta.url)), "../..");
const { loadPyodide } = await import(pathToFileURL(path.join(folder, "node_modules/pyodide/pyodide.mjs")).href);
const python = await loadPyodide({ env: { HOME: "/home", FORMCHECK_CACHE: "/cache/formcheck" } });
for (const [inside, outside] of [["/site", path.join(folder, "site")], ["/examples", path.join(home, "examples")]]) {
  python.FS.mkdirTree(inside);
  python.FS.mount(python.FS.filesystems.NODEFS, { root: outside }, inside);
}
process.exitCode = python.runPython(`
import contextlib, io, os, sys, traceback, warnings

warnings.simplefilter("error", DeprecationWarning)
warnings.simplefilter("error", PendingDeprecationWarning)
sys.path.insert(0, "/site")
sys.dont_write_bytecode = True
os.chdir("/examples")
from formcheck.commands.main import main

gel = "sound/allotment-hand-gel.formula.yaml"
wanted = [
    (["review", "sound", "--processes", "1"], 0),
    (["review", "flawed", "--processes", "1"], 1),
    (["review", "house", "--processes", "1"], 1),
    *((["review", gel, "--format", each], 0) for each in ("json", "sarif", "junit", "github", "gitlab", "markdown", "html")),
    (["changed", "sound/elder-toner.formula.toml"], 0),
    (["ph", "sound/elder-toner.formula.toml"], 0),
    (["batch", gel, "--size", "1 kg"], 0),
    (["label", gel], 0),
    (["explain", "xanthan gum"], 0),
    (["rules"], 0),
    (["settings", "house"], 0),
    (["house-test", "house/nettle-row.house.yaml"], 0),
    (["correct", "sound/pea-pod-shower.formula.json"], 0),
    (["schema"], 0),
    (["manual"], 0),
]
wrong = 0
for arguments, status in wanted:
    said = io.StringIO()
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            found = main(arguments)
    except SystemExit as stop:
        found = stop.code
    except BaseException:
        found, _ = "a traceback", said.write(traceback.format_exc())
    if found != status:
        wrong += 1
        print(f"formcheck {' '.join(arguments)}: {found}, {status} was expected\\n{said.getvalue()[-1500:]}")
print(f"Python {sys.version.split()[0]}: {len(wanted) - wrong} of {len(wanted)} commands are well")
int(wrong > 0)
`);
