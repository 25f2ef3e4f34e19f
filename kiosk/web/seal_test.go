package web

import (
	"context"
	"database/sql"
	"net/http"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/tagcode"
	"cribgate/labeler/symbol"
)

// The sheet shows the head in figures and as a symbol, and both are the
// register's.
func TestSealPage(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	head, err := k.store.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	paper := tagcode.Head{At: head.At, Hash: head.Hash}
	for _, who := range []string{"keeper", "inspector"} {
		p := k.keeper
		if who == "inspector" {
			p = k.inspector
		}
		page := k.signedIn(p).get("/seal")
		if page.status != http.StatusOK || !page.has("<strong>"+paper.String()+"</strong>") || !page.has("not verified from end to end yet") || page.has("does not hold") {
			t.Errorf("%s: %d: %s", who, page.status, page.words())
		}
		hash := strings.Join(regexp.MustCompile(`[0-9a-f]{8}`).FindAllString(page.body[strings.Index(page.body, `class="hash"`):], 8), "")
		if hash != head.Hash.String() {
			t.Errorf("%s: hash %s, want %s", who, hash, head.Hash)
		}
		if !page.has(`--against "` + paper.String() + `"`) {
			t.Errorf("%s: the command to type is missing", who)
		}
		for _, row := range rewrites {
			if !page.has(row.Who) || !page.has(row.Could) || !page.has(row.Shows) {
				t.Errorf("%s: the table lacks %q", who, row.Who)
			}
		}
		if !page.has(`<span class="printed">The register stands at ` + paper.String() + `.</span>`) {
			t.Errorf("%s: the foot of the page does not say where the register stands", who)
		}
	}
	for _, who := range []string{"attendant", "rigger"} {
		p := k.attendant
		if who == "rigger" {
			p = k.rigger
		}
		if page := k.signedIn(p).get("/seal"); page.status != http.StatusForbidden {
			t.Errorf("%s: %d", who, page.status)
		}
	}
}

// What is drawn is the symbol, module by module.
func TestSealIsDrawnAsItIs(t *testing.T) {
	head := tagcode.Head{At: 17, Hash: [32]byte{0x3f, 0x2a, 0x9c, 1}}
	d, err := drawHead(head)
	if err != nil || len(d.Paths) != 1 {
		t.Fatal(d, err)
	}
	text, err := head.Text()
	if err != nil {
		t.Fatal(err)
	}
	code, err := symbol.Encode(text)
	if err != nil {
		t.Fatal(err)
	}
	// A module is dark where an odd number of upright edges lies to its left.
	type edge struct{ x, y int }
	edges := map[edge]int{}
	steps := regexp.MustCompile(`([MLZ])(?:([0-9]+) ([0-9]+))?`).FindAllStringSubmatch(d.Paths[0].D, -1)
	var startX, startY, x, y int
	to := func(nx, ny int) {
		for row := min(y, ny); nx == x && row < max(y, ny); row++ {
			edges[edge{x, row}]++
		}
		x, y = nx, ny
	}
	for _, s := range steps {
		nx, _ := strconv.Atoi(s[2])
		ny, _ := strconv.Atoi(s[3])
		switch s[1] {
		case "M":
			x, y, startX, startY = nx, ny, nx, ny
		case "L":
			to(nx, ny)
		case "Z":
			to(startX, startY)
		}
	}
	dark := 0
	for row := range d.High {
		inside := 0
		for column := range d.Wide {
			inside += edges[edge{column, row}]
			want := code.Dark(column-symbol.QuietZone, row-symbol.QuietZone)
			if (inside%2 == 1) != want {
				t.Fatalf("column %d, row %d: dark %t", column, row, !want)
			}
			if want {
				dark++
			}
		}
	}
	if dark < 400 || d.Wide != 45 || d.High != 45 {
		t.Errorf("%d dark modules of %d by %d", dark, d.Wide, d.High)
	}
	if _, err := drawHead(tagcode.Head{}); err == nil {
		t.Error("no head was drawn")
	}
}

// A register that was found not to hold is told on every page, and nothing goes
// out until it holds.
func TestBrokenRegister(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	if _, err := k.audit.Now(t.Context(), false); err != nil {
		t.Fatal(err)
	}
	keeper := k.signedIn(k.keeper)
	if page := keeper.get("/seal"); !page.has("The register held when it was verified up to position ") || page.has("does not hold") {
		t.Errorf("before: %s", page.main())
	}
	do := func(statement string) {
		t.Helper()
		db, err := sql.Open("sqlite3", filepath.Join(filepath.Dir(k.deskFile), "register.sqlite"))
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		if _, err := db.ExecContext(context.Background(), statement); err != nil {
			t.Fatal(err)
		}
	}
	do("UPDATE person SET name = name || 'x' WHERE name = 'T. Brandt'")
	if r, err := k.audit.Now(t.Context(), false); err != nil || !r.Broken() {
		t.Fatal(r, err)
	}
	for _, path := range []string{"/rack", "/people", "/seal", "/setup"} {
		if page := keeper.get(path); page.status != http.StatusOK || !page.has("The register does not hold. Nothing is handed out") {
			t.Errorf("%s: %d: %s", path, page.status, page.main())
		}
	}
	if page := keeper.get("/seal"); !page.has("The register did not hold when") || !page.has("the present of person") {
		t.Errorf("the seal page: %s", page.main())
	}
	says := gate.RegisterBroken.Text(gate.Answer{}, inUS)
	if !strings.Contains(says.Next, "seal page") {
		t.Errorf("the reason does not lead to the seal page: %q", says.Next)
	}
	do("UPDATE person SET name = 'T. Brandt' WHERE name = 'T. Brandtx'")
	if r, err := k.audit.Now(t.Context(), false); err != nil || r.Broken() {
		t.Fatal(r, err)
	}
	if page := keeper.get("/rack"); page.has("does not hold") {
		t.Errorf("mended: %s", page.main())
	}
}
