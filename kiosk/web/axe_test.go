package web

import (
	"io/fs"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"cribgate/core/state"
	"cribgate/kiosk/web/webtest"
)

// TestAxeEveryPage opens every page that can be opened, as each who may, and holds
// it against axe-core. The states that a page can be in are held against it where
// they are looked at: see looks.
func TestAxeEveryPage(t *testing.T) {
	t.Parallel()
	webtest.AxeMissing(t)
	k := newKiosk(t)
	sling := k.sling(k.filled().good)
	lent, text := k.hanging("NS-0660", nil)
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(aLift())
	at.send(at.scan(text), "/counter/issue", nil)
	loan := k.sling(lent).Loan.Line.Loan.String()
	report := k.examined("NS-0661")
	k.hanging("NS-0662", nil)
	planned := at.plans(with(aLift(), "load", "9,000"), k.rigger, "pump", 0)
	at.proposes()
	// What stands in place of the names in an address. A file is no page.
	names := map[string]string{"{$}": "", "{sling}": strings.TrimPrefix(slingPath(sling), "/rack/"), "{card}": "1", "{person}": k.rigger.ID.String(), "{loan}": loan, "{sheets}": "1-1", "{day}": k.today().String(), "{lift}": planned.Lift.String(), "{at}": report[strings.LastIndex(report, "/")+1:]}
	if _, err := k.server.Counter.PrintPad(t.Context(), k.byKeeper(), 1); err != nil {
		t.Fatal(err)
	}
	b := webtest.Start(t)
	opened := 0
	for _, who := range []state.Person{{}, k.attendant, k.inspector, k.keeper} {
		p := b.Page(t)
		if !who.ID.IsZero() {
			p = k.opened(b, who)
		}
		for _, r := range routes() {
			if r.method != http.MethodGet || isFile(r.path) || strings.HasSuffix(r.path, "{photo}") || !who.ID.IsZero() == (r.act == actNothing) || !mayOpen(who, r.act) {
				continue
			}
			path := r.path
			for _, part := range strings.Split(r.path, "/") {
				if in, ok := names[part]; ok {
					path = strings.ReplaceAll(path, part, in)
				} else if strings.HasPrefix(part, "{") {
					t.Errorf("%s: this test does not know what %s stands for; tell it", r.path, part)
				}
			}
			if strings.HasSuffix(r.path, "/{at}") {
				path = report // of another sling
			}
			p.Go(k.http.URL + path)
			opened++
			for _, finding := range webtest.Axe(p) {
				t.Errorf("%s: %s", path, finding)
			}
		}
	}
	if opened < 30 {
		t.Errorf("only %d pages were opened", opened)
	}
}

// isFile tells whether an address is of a file, which is no page.
func isFile(path string) bool {
	return strings.HasSuffix(path, "{file}") || strings.Contains(path[strings.LastIndex(path, "/"):], ".")
}

func mayOpen(who state.Person, a act) bool {
	return acts[a].who == 0 || who.Roles&acts[a].who != 0
}

// What axe-core is asked for, it does find.
func TestAxeFinds(t *testing.T) {
	t.Parallel()
	webtest.AxeMissing(t)
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.attendant)
	if found := webtest.Axe(p); len(found) > 0 {
		t.Fatalf("the page as it is: %v", found)
	}
	for want, fault := range map[string]string{
		"color-contrast":                 `document.querySelector(".foot p").style.color = "#999"`,
		"label":                          `document.querySelector("main").append(document.createElement("input"))`,
		"button-name":                    `document.querySelector("main").append(document.createElement("button"))`,
		"heading-order":                  `document.querySelector("main").append(document.createElement("h5"))`,
		"night, 1280 px: color-contrast": `document.styleSheets[0].insertRule("@media (prefers-color-scheme: dark) { .foot p { color: #444 } }", document.styleSheets[0].cssRules.length)`,
		"target-size":                    `document.querySelector(".foot p").innerHTML = "<button style='all:unset;font-size:8px'>a</button><button style='all:unset;font-size:8px'>b</button>"`,
	} {
		p.Go(k.http.URL + "/counter")
		webtest.Eval[bool](p, "("+fault+", document.querySelector('h5')?.append('x'), true)")
		if found := webtest.Axe(p); !strings.Contains(strings.Join(found, "\n"), want) {
			t.Errorf("%s is not found: %v", want, found)
		}
	}
}

// By night the pages have other colours and nothing else, so that axe-core need not look
// twice for what colours cannot break.
func TestNightIsColoursOnly(t *testing.T) {
	t.Parallel()
	night := regexp.MustCompile(`(?s)(?:@media \(prefers-color-scheme: [a-z]+\) \{\s*[^{}]*|:root\[data-theme[^{}]*)\{([^{}]*)\}`)
	colour := regexp.MustCompile(`^(--[a-z-]+: #[0-9a-f]{6}|color-scheme: (dark|light))$`)
	named := regexp.MustCompile(`prefers-color-scheme|data-theme`)
	blocks := 0
	err := fs.WalkDir(staticFiles, "static", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || strings.Contains(path, "/fonts/") {
			return err
		}
		text, err := staticFiles.ReadFile(path)
		if err != nil {
			return err
		}
		for _, block := range night.FindAllSubmatch(text, -1) {
			blocks++
			for declared := range strings.SplitSeq(string(block[1]), ";") {
				if declared = strings.TrimSpace(declared); declared != "" && !colour.MatchString(declared) {
					t.Errorf("%s: by night also %q", path, declared)
				}
			}
		}
		if rest := night.ReplaceAll(text, nil); named.Match(rest) {
			t.Errorf("%s: something else goes by day and night", path)
		}
		return nil
	})
	if err != nil || blocks < 2 {
		t.Errorf("%d blocks: %v", blocks, err)
	}
}
