package print_test

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

const someone = "00112233445566778899aabbccddeeff"

// badgeLine is a line of a badge; change replaces in it.
func badgeLine(change ...string) string {
	return strings.NewReplacer(change...).Replace(
		`{"person":"` + someone + `","name":"K. Dorn","crib":"North Sluice crib","role":"rigger","badge":2,"until":"2027-03-31"}`)
}

func date(t testing.TB, text string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// shown lists what is written on a drawing.
func shown(d sheet.Drawing) []string {
	var texts []string
	for _, t := range d.Texts {
		texts = append(texts, t.String)
	}
	return texts
}

func TestABadgeNamesAPersonAndNoMore(t *testing.T) {
	key := key(t)
	badges, err := print.ReadBadges(strings.NewReader(badgeLine()+"\n\n"+badgeLine(`:2,`, `:3,`, `"2027-03-31"`, `null`)+"\n"), key)
	if err != nil || len(badges) != 2 {
		t.Fatalf("%d badges, %v", len(badges), err)
	}
	until := date(t, "2027-03-31")
	want := tagcode.Badge{Key: key.Fingerprint(), Person: tagcode.NumberOf(key.Fingerprint(), someone), Serial: 2, Until: until}
	if b := badges[0]; b.Sealed.Badge != want || b.Sealed.Verify(key) != nil || b.Role != event.Rigger {
		t.Errorf("says %+v, want %+v", b.Sealed.Badge, want)
	}
	d, err := badges[0].Draw(stock(t, "badge"))
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"K. Dorn", "North Sluice crib", "Rigger", "Good until 31 Mar 2027", "Badge 2"} {
		if !slices.Contains(shown(d), text) {
			t.Errorf("%q is not on the badge: %q", text, shown(d))
		}
	}
	if d.Title != "K. Dorn" {
		t.Errorf("its title is %q", d.Title)
	}
	if back, err := tagcode.ParseBadge(d.Symbol.Text()); err != nil || back != badges[0].Sealed {
		t.Errorf("its symbol says %+v, %v", back, err)
	}
	if d, err = badges[1].Draw(stock(t, "badge")); err != nil || strings.Contains(fmt.Sprint(shown(d)), "Good until") {
		t.Errorf("a badge without end shows %q, %v", shown(d), err)
	}
}

func TestBadgeLinesRefused(t *testing.T) {
	key := key(t)
	for line, want := range map[string]string{
		`{}`:                       "badge.person: missing",
		`[]`:                       "badge: not an object",
		badgeLine(someone, "0011"): "badge.person: not the id of a person",
		badgeLine("aabb", "AABB"):  "badge.person: not the id of a person",
		badgeLine(someone, event.PersonID{}.String()): "badge.person: not the id of a person",
		badgeLine("K. Dorn", " K."):                   "badge.name: not 1 to 60 printable characters",
		badgeLine("K. Dorn", ""):                      "badge.name: not 1 to 60 printable characters",
		badgeLine("K. Dorn", `K\u202e`):               "badge.name: not 1 to 60 printable characters",
		badgeLine("North Sluice crib", "North\tcrib"): "control",
		badgeLine("North Sluice crib", "North  crib"): "badge.crib: not 1 to 60 printable characters",
		badgeLine("rigger", "boss"):                   "badge.role: not attendant, rigger, inspector or keeper",
		badgeLine(":2,", ":0,"):                       "badge.badge: ",
		badgeLine(":2,", ":1024,"):                    "badge.badge: ",
		badgeLine("2027-03-31", "31.3.2027"):          "badge.until: not a date",
		badgeLine("2027-03-31", "1999-12-31"):         "last day 1999-12-31 is outside",
		badgeLine(`"badge"`, `"serial"`):              "badge.badge: missing",
		badgeLine(`"badge":2`, `"badge":2,"id":"X"`):  `badge: unknown name "id"`,
		badgeLine() + "\n" + badgeLine():              "line 2: the same is there already: badge 2 of " + someone + " is on line 1",
		badgeLine() + "\n{":                           "line 2: ",
	} {
		list, err := print.ReadBadges(strings.NewReader(line), key)
		var e *print.LineError
		if err == nil || list != nil || !errors.As(err, &e) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", line, err, want)
		}
	}
}

// TestLinesGoByTheStock holds the single entry: the stock says what a line is.
func TestLinesGoByTheStock(t *testing.T) {
	key := key(t)
	lines := map[string]string{"plate-50x80": line, "badge": badgeLine(), "slip": slipLine()}
	names := map[string]string{"plate-50x80": "CS-0417 tag 3", "badge": "K. Dorn badge 2", "slip": "CS-0417 slip 81"}
	for name := range lines {
		for of, text := range lines {
			job := print.Job{Stock: stock(t, name), Out: filepath.Join(t.TempDir(), "out.svg")}
			got, r, err := job.WriteLines(context.Background(), strings.NewReader(text), key, "")
			switch {
			case of == name && (err != nil || len(got) != 1 || got[0] != names[name] || len(r.Files) != 1):
				t.Errorf("%s on %s: %q, %v, %v", of, name, got, r, err)
			case of != name && (err == nil || got != nil):
				t.Errorf("a line of %s was printed on %s: %q", of, name, got)
			}
		}
	}
	for _, name := range []string{"badge", "slip"} {
		job := print.Job{Stock: stock(t, name), Out: filepath.Join(t.TempDir(), "out.svg")}
		if _, _, err := job.WriteLines(context.Background(), strings.NewReader(lines[name]), key, "HTTPS://CRIB.EXAMPLE/"); err == nil {
			t.Errorf("a %s with a prefix was printed", name)
		}
	}
	badges, err := print.ReadBadges(strings.NewReader(badgeLine()), key)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := badges[0].Draw(stock(t, "plate-50x80")); !errors.Is(err, sheet.ErrKind) {
		t.Errorf("a badge on a tag's stock: %v", err)
	}
	if _, _, err := (print.Job{Stock: printtemplates.Stock{Kind: 9}}).WriteLines(context.Background(), strings.NewReader(""), key, ""); err == nil {
		t.Error("a stock of no kind was printed on")
	}
}
