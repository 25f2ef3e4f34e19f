package main

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const module = "cribgate"

// A place is where a package stands: what of ours it may import, and why
// nothing else. A name ending in /... stands for what lies under it, and, with
// the word before, for itself.
type place struct {
	pkg string
	may []string
	why string
}

// coreLeaves are what all of core may lean on.
var coreLeaves = []string{"core/quantity", "core/strict", "core/source", "core/tagcode", "core/trade"}

// places are the arrows of the house, inward. Each package has one, and each
// line has its package.
var places = []place{
	{"core/quantity", nil, "units are under everything"},
	{"core/strict", nil, "the reader of JSON knows no facts"},
	{"core/source", nil, "a clause is cited, and cites nobody"},
	{"core/trade", nil, "what a word is called elsewhere asks for no facts"},
	{"core/tagcode", []string{"core/quantity"}, "a tag is read where there is no record and no rule"},
	{"core/bounded", nil, "a limit does not ask what runs under it"},
	{"core/required", nil, "a test may lack a program wherever it stands"},
	{"core/tagcode/tagcodetest", []string{"core/quantity", "core/tagcode"}, "a forger has what everybody has: codes, and a key of his own"},
	{"core/lift", []string{"core/quantity"}, "geometry knows no slings and no tables"},
	{"core/release", nil, "the build is named, and nothing is decided by it"},
	{"core/rating", coreLeaves, "tables stand on published texts alone"},
	{"core/due", coreLeaves, "an interval follows from its text alone"},
	{"core/removal", append([]string{"core/rating"}, coreLeaves...), "measurements are judged without history or lift"},
	{"core/gate", append([]string{"core/rating", "core/lift", "core/due"}, coreLeaves...), "the decision takes facts, never a history"},
	{"core/event", append([]string{"core/rating", "core/due", "core/gate", "core/removal"}, coreLeaves...), "a fact does not know what follows from it"},
	{"core/fit", append([]string{"core/rating", "core/lift", "core/gate", "core/event"}, coreLeaves...), "slings are chosen by what the gate says, and the gate does not know of choosing"},
	{"core/weight", []string{"core/quantity", "core/source"}, "a size is weighed by its material alone"},
	{"core/allot", append([]string{"core/fit"}, coreLeaves...), "a day shares out what fits, and asks no gate of its own"},
	{"core/lack", append([]string{"core/fit"}, coreLeaves...), "what was lacking is what would have fitted"},
	{"core/returncheck", append([]string{"core/event", "core/state"}, coreLeaves...), "what is asked of a sling follows from what is known of it, never from where it is asked"},
	{"core/report", append([]string{"core/rating", "core/due", "core/gate", "core/removal", "core/event", "core/state"}, coreLeaves...), "a report says what was recorded, on whatever it is shown"},
	{"core/state", append([]string{"core/rating", "core/due", "core/gate", "core/removal", "core/event"}, coreLeaves...), "the fold sees facts only, never where they are kept"},

	{"store", []string{"core/...", "store/..."}, "the register serves every program, so it knows none"},
	{"store/durable", nil, "names outlast a power cut whatever they name"},
	{"store/sqlite", []string{"store/durable"}, "the engine keeps bytes and knows no slings"},
	{"store/keyring", []string{"core/tagcode", "store/durable"}, "keys lie outside the register"},
	{"store/photos", []string{"core/event", "store/durable"}, "pictures lie outside the register, which names them"},
	{"store/storetest", []string{"core/...", "store/..."}, "the suite tests registers, not programs"},

	{"printtemplates", []string{"core/quantity", "core/strict"}, "a stock is data, and adding one needs no code"},
	{"labeler/symbol", []string{"core/tagcode"}, "a symbol carries a tag's text and does not ask what it says"},
	{"labeler/grade", []string{"labeler/symbol"}, "a print is judged by whatever picture it is handed; who took it is not asked"},
	{"labeler/sheet", []string{"core/quantity", "printtemplates", "labeler/symbol"}, "layout places what it is given and judges nothing"},
	{"labeler/pdf", []string{"core/quantity"}, "a document knows paper, ink and letters, and no tags"},
	{"labeler/render", []string{"core/quantity", "printtemplates", "labeler/symbol", "labeler/sheet", "labeler/pdf"}, "a writer draws a list and decides nothing"},
	{"labeler/draft", nil, "a file gets its name when it is whole, whatever is in it"},
	{"labeler/card", []string{"core/quantity", "core/strict", "core/source", "core/rating", "core/removal", "core/gate", "core/tagcode", "core/trade", "core/report", "printtemplates", "labeler/sheet", "labeler/symbol"}, "a card shows what others decided, and knows no register"},
	{"labeler/print", []string{"core/...", "store", "store/keyring", "printtemplates", "labeler/symbol", "labeler/sheet", "labeler/render", "labeler/draft"}, "tags are printed without a counter"},
	{"labeler/bulk", []string{"core/...", "store", "printtemplates", "labeler/print", "labeler/sheet", "labeler/render", "labeler/draft"}, "a run is planned and recorded whoever asked for it"},
	{"labeler/printer/ipp", nil, "a printer's messages are bytes, and mean nothing here"},
	{"labeler/printer", []string{"labeler/printer/ipp"}, "a printer takes a document and knows no tags"},
	{"labeler/printer/printertest", []string{"core/required", "labeler/printer/ipp"}, "a printer for tests prints nothing"},
	{"labeler/commandline", []string{"core/release"}, "how a command line behaves does not hang on what it is for; the kiosk leans on the labeler and never the other way, so both find it here"},
	{"labeler/commandline/commandlinetest", []string{"labeler/commandline"}, "the help of any program is held to its doc.go alike"},
	{"labeler/command", []string{"core/...", "store/...", "printtemplates", "labeler/...", "kiosk/scan"}, "the labeler runs without the kiosk; of it, it shares the reader of pictures only"},
	{"labeler", []string{"labeler/command"}, "a program is a package that others can start; main is a dozen lines"},

	{"kiosk/scan/luminance", nil, "a JPEG is bytes, and what it shows is asked elsewhere"},
	{"kiosk/scan", []string{"labeler/symbol", "kiosk/scan/luminance"}, "pictures become text here, and what the text means is asked elsewhere; what a mask turns over is said once, where symbols are made"},
	{"kiosk/resemble", []string{"labeler/symbol"}, "symbols are compared, and what hangs where is asked elsewhere"},
	{"kiosk/worn", []string{"core/...", "store", "labeler/symbol", "labeler/grade", "kiosk/scan", "kiosk/resemble"}, "tags are known by their looks whoever holds them up; what a reading came to is for the counter to record"},
	{"kiosk/live", nil, "open pages are told of positions, never of slings"},
	{"kiosk/camera", []string{"kiosk/scan"}, "live pictures become texts here, and who may show them is asked elsewhere"},
	{"kiosk/desk", []string{"store/sqlite"}, "PINs and sessions lie outside the register and know people by id only"},
	{"kiosk/bench", []string{"store/sqlite"}, "drafts lie outside the register and know slings and people by id only"},
	{"kiosk/audit", []string{"core/...", "store"}, "the register is verified beside the counter, whoever serves it"},
	{"kiosk/chore", nil, "work is done again and again, whatever it is"},
	{"kiosk/copies", []string{"store", "store/photos", "kiosk/chore"}, "copies are made and disks watched whoever serves the register"},
	{"kiosk/counter", []string{"core/...", "store"}, "the acts are the same for a page, a script and the demonstration"},
	{"kiosk/morning", []string{"core/quantity", "labeler/printer", "kiosk/chore"}, "a sheet is printed whatever is on it; what it says the pages know"},
	{"kiosk/web", []string{"core/...", "store", "store/keyring", "store/photos", "printtemplates", "labeler/print", "labeler/grade", "labeler/symbol", "labeler/card", "labeler/render", "kiosk/..."}, "pages show what others decided; they print a tag through labeler/print, judge one through labeler/grade, draw the register's seal through labeler/symbol and the slip of a loan through labeler/card only"},
	{"kiosk/web/webtest", []string{"core/required", "labeler/symbol"}, "a browser for tests knows no pages; what its camera films has a symbol on it"},
	{"kiosk/command", []string{"core/...", "store/...", "printtemplates", "labeler/print", "labeler/commandline", "kiosk/..."}, "the kiosk runs without the labeler's command line"},
	{"kiosk", []string{"kiosk/command"}, "a program is a package that others can start; main is a dozen lines"},

	{"demo/crib", []string{"core/...", "store/...", "printtemplates", "labeler/...", "kiosk/..."}, "the invented crib starts the real programs and is imported by demo alone"},
	{"demo/browser", nil, "a browser knows pages by their marks, and nothing of the program behind them"},
	{"demo/tour", []string{"core/...", "store/...", "printtemplates", "labeler/...", "kiosk/...", "demo/browser", "demo/crib"}, "the tour starts the real programs and is imported by demo alone"},
	{"demo/worn", []string{"core/tagcode", "printtemplates", "labeler/print", "labeler/render", "labeler/symbol", "kiosk/scan", "kiosk/resemble"}, "pictures of worn tags are made by the labeler and read by the kiosk, and nobody is behind a counter"},
	{"demo", []string{"core/...", "store/...", "printtemplates", "labeler/...", "kiosk/...", "demo/..."}, "the demonstration is on top of everything"},
}

// A keeper is the only place of a library of others, so that replacing it
// touches one folder.
type keeper struct {
	library string // its import path, or with /... all under it
	at      []string
	why     string
}

var keepers = []keeper{
	{"database/...", []string{"store/...", "kiosk/desk", "kiosk/bench"}, "SQL is spoken by the register, the desk and the bench only"},
	{"github.com/mattn/go-sqlite3", []string{"store/sqlite"}, "a driver appears in its own package only"},
	{"github.com/pressly/goose/...", []string{"store/sqlite"}, "schemas are upgraded by the engine only"},
	{"github.com/alexedwards/scs/...", []string{"kiosk/desk"}, "sessions belong to the desk"},
	{"golang.org/x/crypto/...", []string{"kiosk/desk"}, "PINs are hashed at the desk only"},
	{"github.com/makiuchi-d/gozxing/...", []string{"kiosk/scan"}, "the decoder sits behind our reader"},
	{"github.com/skip2/go-qrcode", []string{"labeler/symbol"}, "the encoder sits behind our symbol"},
	{"github.com/gorilla/websocket", []string{"kiosk/live", "kiosk/camera"}, "open pages are told of news in one place, and cameras are listened to in one"},
	{"golang.org/x/image/...", []string{"labeler/sheet", "labeler/pdf", "labeler/render", "kiosk/scan", "store/photos"}, "fonts are for tags only, pictures for whoever reads or keeps them"},
	{"github.com/spf13/pflag", []string{"labeler/commandline"}, "settings fill flags in one place"},
	{"github.com/spf13/cobra", []string{"labeler/commandline/...", "kiosk/command", "labeler/command", "demo"}, "command lines are read by programs only"},
	{"github.com/chromedp/...", []string{"kiosk/web/webtest"}, "browsers are for tests only"},
	{"net/http", []string{"kiosk/...", "demo/...", "labeler/printer/..."}, "pages are served by the kiosk only, and a printer speaks IPP, which is HTTP"},
}

// A pure ban holds for all of core.
type pureBan struct{ library, why string }

var pureBans = []pureBan{
	{"os/...", "the core reads no file and no environment"},
	{"io/fs", "the core reads no file"},
	{"embed", "the core reads no file; its tables are Go, each row with its clause"},
	{"syscall/...", "the core asks nothing of the machine"},
	{"net/...", "the core talks to nobody"},
	{"database/...", "the core keeps nothing"},
	{"log/...", "the core returns what it has to say"},
	{"crypto/rand", "chance is handed in, so that one question has one answer"},
	{"math/rand/...", "chance is handed in, so that one question has one answer"},
	{"context", "the core waits for nothing"},
	{"math/big", "the core counts in whole numbers and 128-bit products"},
}

// pureExceptions are the packages that a ban spares, each with its reason.
var pureExceptions = map[[2]string]string{
	{"core/required", "os"}:      "tests ask the environment whether they may be skipped; no program does",
	{"core/required", "os/exec"}: "tests look for the programs they need; no program does",
	{"core/lift", "math/big"}:    "geometry is in floating point; where two sides are too near for it to tell and equality refuses, they are compared exactly",
}

// clockWords are what of package time the core must not touch.
var clockWords = []string{"Now", "Since", "Until", "After", "AfterFunc", "Sleep", "Tick", "NewTimer", "NewTicker", "Local", "LoadLocation"}

// pkg is what `go list` knows of a package.
type pkg struct {
	ImportPath, Dir                              string
	Imports, TestImports, XTestImports, Deps     []string
	GoFiles, CgoFiles, TestGoFiles, XTestGoFiles []string
}

// name is the package within the module.
func (p pkg) name() string { return strings.TrimPrefix(p.ImportPath, module+"/") }

// listPackages asks the go command, so that build tags and nested modules are
// seen as the build sees them.
func listPackages(t *testing.T) []pkg {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Dir,Imports,TestImports,XTestImports,Deps,GoFiles,CgoFiles,TestGoFiles,XTestGoFiles", "./...")
	cmd.Dir = root(t)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var list []pkg
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("go list: %v", err)
		}
		list = append(list, p)
	}
	if len(list) < len(places)/2 {
		t.Fatalf("go list found %d packages: the test looks at the wrong tree", len(list))
	}
	return list
}

func root(t *testing.T) string {
	t.Helper()
	dir, err := filepath.Abs("..")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "go.mod")); err != nil {
		t.Fatalf("the repository: %v", err)
	}
	return dir
}

// under reports whether path is pattern, or lies under one that ends in /...
func under(pattern, path string) bool {
	if base, ok := strings.CutSuffix(pattern, "/..."); ok {
		return path == base || strings.HasPrefix(path, base+"/")
	}
	return path == pattern
}

func underAny(patterns []string, path string) bool {
	return slices.ContainsFunc(patterns, func(p string) bool { return under(p, path) })
}

func TestArrows(t *testing.T) {
	packages := listPackages(t)
	at := map[string]place{}
	for _, p := range places {
		if _, twice := at[p.pkg]; twice {
			t.Errorf("%s has two places", p.pkg)
		}
		at[p.pkg] = p
	}
	seen := map[string]bool{}
	for _, p := range packages {
		seen[p.name()] = true
		line, ok := at[p.name()]
		if !ok {
			t.Errorf("package %s has no place in this test: say what it may import, and why nothing else", p.name())
			continue
		}
		for _, i := range p.Imports {
			if ours, ok := strings.CutPrefix(i, module+"/"); ok && !underAny(line.may, ours) {
				t.Errorf("%s imports %s: %s", p.name(), ours, line.why)
			}
		}
		if strings.HasPrefix(p.name(), "demo") {
			continue
		}
		for _, i := range slices.Concat(p.TestImports, p.XTestImports) {
			if under(module+"/demo/...", i) {
				t.Errorf("tests of %s import %s: nobody imports the demonstration", p.name(), i)
			}
		}
	}
	for _, line := range places {
		if !seen[line.pkg] {
			t.Errorf("package %s has a place here and does not exist", line.pkg)
		}
		for _, m := range line.may {
			if !slices.ContainsFunc(packages, func(p pkg) bool { return under(m, p.name()) }) {
				t.Errorf("%s may import %s, which does not exist", line.pkg, m)
			}
		}
	}
}

func TestLibrariesHaveOneKeeper(t *testing.T) {
	packages := listPackages(t)
	for _, p := range packages {
		for _, i := range p.Imports {
			host, _, _ := strings.Cut(i, "/")
			if strings.Contains(host, ".") && !slices.ContainsFunc(keepers, func(k keeper) bool { return under(k.library, i) }) {
				t.Errorf("%s imports %s, which has no keeper here: say where it may be, and why only there", p.name(), i)
			}
		}
	}
	for _, k := range keepers {
		used := false
		for _, p := range packages {
			for _, i := range p.Imports {
				if !under(k.library, i) {
					continue
				}
				used = true
				if !underAny(k.at, p.name()) {
					t.Errorf("%s imports %s: %s", p.name(), i, k.why)
				}
			}
		}
		if !used {
			t.Errorf("nobody imports %s any more: strike it from this test and from go.mod", k.library)
		}
		for _, at := range k.at {
			if !slices.ContainsFunc(packages, func(p pkg) bool { return under(at, p.name()) }) {
				t.Errorf("keeper %s of %s does not exist", at, k.library)
			}
		}
	}
}

func TestCoreIsPure(t *testing.T) {
	unused := maps.Clone(pureExceptions)
	defer func() {
		for e := range unused {
			t.Errorf("%s does not import %s any more: strike the exception", e[0], e[1])
		}
	}()
	for _, p := range listPackages(t) {
		if !under("core/...", p.name()) {
			continue
		}
		if len(p.CgoFiles) > 0 || slices.Contains(p.Deps, "runtime/cgo") || slices.Contains(p.Deps, "net") || slices.Contains(p.Deps, "database/sql") {
			t.Errorf("%s depends on C, the network or a database: the core builds and runs without them", p.name())
		}
		for _, i := range p.Imports {
			for _, ban := range pureBans {
				if under(ban.library, i) && pureExceptions[[2]string{p.name(), i}] == "" {
					t.Errorf("%s imports %s: %s", p.name(), i, ban.why)
				}
				delete(unused, [2]string{p.name(), i})
			}
		}
		for _, i := range slices.Concat(p.TestImports, p.XTestImports) {
			if ours, ok := strings.CutPrefix(i, module+"/"); ok && !under("core/...", ours) {
				t.Errorf("tests of %s import %s: the core is tested without C, files or network", p.name(), ours)
			}
		}
		for _, f := range p.GoFiles {
			for _, use := range clockUses(t, filepath.Join(p.Dir, f)) {
				t.Errorf("%s: the core has no clock; now is handed in", use)
			}
		}
	}
}

// clockUses lists where a file asks package time what time it is.
func clockUses(t *testing.T, file string) []string {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, file, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	var uses []string
	ast.Inspect(f, func(n ast.Node) bool {
		s, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if x, ok := s.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains(clockWords, s.Sel.Name) {
			uses = append(uses, set.Position(n.Pos()).String()+": time."+s.Sel.Name)
		}
		return true
	})
	return uses
}
