package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// mayBlank are imports for effect: what is embedded, picture formats, drivers.
var mayBlank = []string{"embed", "image/...", "time/tzdata", "github.com/mattn/go-sqlite3"}

func TestPackageCommentsAndInit(t *testing.T) {
	for _, p := range listPackages(t) {
		var comments []string
		for _, name := range slices.Concat(p.GoFiles, p.CgoFiles, p.TestGoFiles, p.XTestGoFiles) {
			f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(p.Dir, name), nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			if f.Doc != nil && !strings.HasSuffix(name, "_test.go") {
				comments = append(comments, name)
			}
			for _, d := range f.Decls {
				if fn, ok := d.(*ast.FuncDecl); ok && fn.Name.Name == "init" && fn.Recv == nil {
					t.Errorf("%s: %s has an init function: importing a package does nothing", p.name(), name)
				}
			}
			for _, i := range f.Imports {
				if path := strings.Trim(i.Path.Value, `"`); i.Name != nil && i.Name.Name == "_" && !underAny(mayBlank, path) {
					t.Errorf("%s: %s imports %s for its effect", p.name(), name, path)
				}
			}
		}
		if len(comments) != 1 {
			t.Errorf("%s has %d package comments %v: one teaches the package", p.name(), len(comments), comments)
		}
	}
}

// topLevel is all that lies at the top, hidden files apart.
var topLevel = []string{"core", "kiosk", "labeler", "store", "printtemplates", "demo", "README.md", "DEVELOPERS.md", "go.mod", "go.sum"}

func TestTopLevel(t *testing.T) {
	entries, err := os.ReadDir(root(t))
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]bool{}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") {
			continue
		}
		found[e.Name()] = true
		if !slices.Contains(topLevel, e.Name()) {
			t.Errorf("%s lies at the top of the repository, where only %v may", e.Name(), topLevel)
		}
	}
	for _, name := range topLevel {
		if !found[name] {
			t.Errorf("%s is missing at the top of the repository", name)
		}
	}
}

// Texts that must not be committed. The patterns do not match themselves.
var (
	machinePath = regexp.MustCompile(`(?:^|[^A-Za-z0-9_.~-])(?:/(?:home|root|Users)/[A-Za-z0-9]|[A-Z]:\\Users\\)`)
	unfinished  = regexp.MustCompile(`\b(?:TO[D]O|FIX[M]E)\b`)
)

func TestNoWorkplaceInTexts(t *testing.T) {
	looked := 0
	err := filepath.WalkDir(root(t), func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.Name() == ".git":
			return filepath.SkipDir
		case d.IsDir() || !d.Type().IsRegular():
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if !utf8.Valid(text) || strings.ContainsRune(string(text), 0) {
			return nil // a font or a picture
		}
		looked++
		for n, line := range strings.Split(string(text), "\n") {
			switch {
			case machinePath.MatchString(line):
				t.Errorf("%s:%d names a path of one machine", path, n+1)
			case unfinished.MatchString(line):
				t.Errorf("%s:%d says that something is unfinished: finish it or leave it out", path, n+1)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if looked < 100 {
		t.Fatalf("looked at %d texts: the test looks at the wrong tree", looked)
	}
}

// The scan for texts is itself held against texts that it must and must not
// find.
func TestPatternsOfTexts(t *testing.T) {
	for _, bad := range []string{"see /home" + "/someone/x", `"/root` + `/y"`, `C:` + `\Users\x`} {
		if !machinePath.MatchString(bad) {
			t.Errorf("%q is not found", bad)
		}
	}
	for _, fine := range []string{"GET /people/{person}/pin", "https://example.org/root/x", "root/x", "/homely/x"} {
		if machinePath.MatchString(fine) {
			t.Errorf("%q is found", fine)
		}
	}
	if !unfinished.MatchString("// TO"+"DO: later") || unfinished.MatchString("what is to do") {
		t.Error("the scan for unfinished work is broken")
	}
}
