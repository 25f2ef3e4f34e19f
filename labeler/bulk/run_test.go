package bulk_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/labeler/bulk"
	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// mixed is a shop with more slings than one part holds, on two stocks, with one
// that is gone, one whose stock is not known, and one whose tag has no room on its
// stock: that stock has a mark for the year of the inspection and three after it.
func mixed(t *testing.T) *shop {
	s := found(t)
	for i := range bulk.PartSize + 6 {
		s.register(t, fmt.Sprintf("S-%03d", i), func(*event.Details) {})
	}
	s.tell(t, "S-002", event.Retired{Reason: "worn", How: "cut"})
	for i := 10; i < 20; i++ {
		s.print(t, fmt.Sprintf("S-%03d", i), 4, "disc-70")
	}
	s.print(t, "S-030", 1, "no-such")
	return s
}

// narrow is a stock on which the identification has room for a few letters only.
const narrow = `{
 "format": 1, "title": "Narrow", "outline": {"shape": "rectangle", "width_um": 40000, "height_um": 45000, "corner_um": 0},
 "margin_um": 1000,
 "symbol": {"x_um": 6500, "y_um": 2000, "side_um": 27000, "quiet_zone_modules": 4, "smallest_module_um": 500},
 "fields": [
  {"text": "{id}", "x_um": 20000, "y_um": 34000, "width_um": 13000, "align": "middle", "font": "bold", "type_um": 4000, "smallest_type_um": 3000},
  {"text": "Due {due} {status}", "x_um": 20000, "y_um": 38500, "width_um": 38000, "align": "middle", "font": "regular", "type_um": 3000, "smallest_type_um": 2000},
  {"text": "{code}", "x_um": 20000, "y_um": 42500, "width_um": 38000, "align": "middle", "font": "regular", "type_um": 3000, "smallest_type_um": 2000}
 ]
}`

func narrowOrder(t *testing.T) bulk.Order {
	t.Helper()
	s, err := printtemplates.Parse("narrow", []byte(narrow))
	if err != nil {
		t.Fatal(err)
	}
	o := order(t)
	o.Template, o.Own = s, narrow
	return o
}

func TestRun(t *testing.T) {
	s := mixed(t)
	dir := filepath.Join(t.TempDir(), "run")
	var steps []string
	run, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, order(t))
	if err != nil {
		t.Fatal(err)
	}
	if got := names(files(t, dir)); got != "run.plan" {
		t.Errorf("begun with %s", got)
	}
	before := s.tags(t)
	if strings.Contains(before, "S-000") {
		t.Fatal("recorded before the run")
	}
	summary, err := run.Work(t.Context(), s.Store, s.keys, func(done, of int) { steps = append(steps, fmt.Sprintf("%d/%d", done, of)) })
	if err != nil {
		t.Fatal(err)
	}
	total := bulk.PartSize + 5
	if want := []string{fmt.Sprintf("%d/%d", bulk.PartSize, total), fmt.Sprintf("%d/%d", total, total)}; !slices.Equal(steps, want) {
		t.Errorf("progress %v, want %v", steps, want)
	}
	if summary.Printed != total || len(summary.Left) != 1 || len(summary.Files) != total {
		t.Errorf("came to %d tags, %v left, %d files", summary.Printed, summary.Left, len(summary.Files))
	}
	// The report has each sling once, and its tag is the register's.
	known, pages := s.tags(t), files(t, dir)
	for _, row := range report(t, dir) {
		if row[0] == "left out" {
			if row[1] != "S-002" || row[8] != "it is retired" {
				t.Errorf("left out: %q", row)
			}
			continue
		}
		line := fmt.Sprintf("%s %s %s ", row[1], row[2], row[4])
		if strings.Count(known, line) != 1 || strings.Contains(before, line) {
			t.Errorf("%q: the register does not know it, or knew it before", line)
		}
		page := string(pages[row[5]])
		if row[6] != "1" || !strings.Contains(page, "<title>"+row[1]+"</title>") || !strings.Contains(page, row[3]) {
			t.Errorf("%s is not the tag of %s with the code %s", row[5], row[1], row[3])
		}
		if unknown := row[1] == "S-030"; unknown != strings.Contains(row[8], "no-such") {
			t.Errorf("%s: note %q", row[1], row[8])
		}
		delete(pages, row[5])
	}
	if got := names(pages); got != "report.tsv run.done" {
		t.Errorf("in no report: %s", got)
	}
	if strings.Count(known, "\n") != strings.Count(before, "\n")+total {
		t.Errorf("the register knows\n%s", known)
	}
}

// What cannot be laid out is left out with the figure, and the register does not
// learn of it.
func TestNoRoomOnTheStock(t *testing.T) {
	s := found(t, "A-1", "WWWWWWWW", "A-2")
	dir := filepath.Join(t.TempDir(), "run")
	summary := s.run(t, dir, narrowOrder(t))
	if summary.Printed != 2 || len(summary.Left) != 1 || summary.Left[0].Ident != "WWWWWWWW" ||
		!strings.Contains(summary.Left[0].Why, "in its smallest type of 3 mm and has 13 mm") {
		t.Errorf("came to %+v", summary)
	}
	if got := s.tags(t); strings.Contains(got, "WWW") || strings.Count(got, "\n") != 2 {
		t.Errorf("the register knows\n%s", got)
	}
	// The stock is in the plan: what becomes of its file in the meantime is nothing
	// to a run that is taken up.
	s = found(t, "A-1", "WWWWWWWW", "A-2")
	again := filepath.Join(t.TempDir(), "run")
	s.stopped(t, again, narrowOrder(t), "recorded", 1)
	s.resume(t, again)
	same(t, "taken up", files(t, again), files(t, dir))
	// All of them.
	s = found(t, "WWWWWWWW")
	summary = s.run(t, filepath.Join(t.TempDir(), "run"), narrowOrder(t))
	if summary.Printed != 0 || len(summary.Files) != 0 || len(summary.Left) != 1 {
		t.Errorf("nothing but a wide one: %+v", summary)
	}
}

func TestOneSheet(t *testing.T) {
	s := found(t, "A-1", "A-2", "A-3", "A-4")
	o := order(t)
	o.Template = stock(t, "plate-50x80")
	o.Template.Paper = printtemplates.Paper{
		Width: 210_000, Height: 297_000, First: printtemplates.Point{X: 10_000, Y: 10_000},
		Step: printtemplates.Point{X: 60_000, Y: 90_000}, Columns: 3, Rows: 1,
	}
	o.First = 1
	dir := filepath.Join(t.TempDir(), "run")
	s.run(t, dir, o)
	var got []string
	for _, row := range report(t, dir) {
		got = append(got, strings.Join([]string{row[1], row[5], row[6], row[7]}, " "))
	}
	want := []string{"A-1 plate-50x80-001.svg 1 2", "A-2 plate-50x80-001.svg 1 3", "A-3 plate-50x80-002.svg 1 1", "A-4 plate-50x80-002.svg 1 2"}
	if !slices.Equal(got, want) {
		t.Errorf("report %q, want %q", got, want)
	}
	o.Format, o.First = print.PDF, 2
	dir = filepath.Join(t.TempDir(), "run")
	s.run(t, dir, o)
	got = nil
	for _, row := range report(t, dir) {
		got = append(got, strings.Join([]string{row[1], row[5], row[6], row[7]}, " "))
	}
	want = []string{"A-1 plate-50x80.pdf 1 3", "A-2 plate-50x80.pdf 2 1", "A-3 plate-50x80.pdf 2 2", "A-4 plate-50x80.pdf 2 3"}
	if !slices.Equal(got, want) {
		t.Errorf("report %q, want %q", got, want)
	}
	o.First = 3
	if _, err := bulk.Start(t.Context(), s.Reader, s.keys, filepath.Join(t.TempDir(), "run"), o); !errors.Is(err, sheet.ErrPaper) {
		t.Errorf("a place that the sheet does not have: %v", err)
	}
}

// An order that cannot be carried out leaves no directory.
func TestStartRefuses(t *testing.T) {
	s := found(t, "A-1")
	dir := filepath.Join(t.TempDir(), "run")
	for name, c := range map[string]struct {
		change func(*bulk.Order)
		want   error
	}{
		"too coarse":      {func(o *bulk.Order) { o.Format, o.DPI = print.PNG, 112 }, render.ErrDPI},
		"a stock of less": {func(o *bulk.Order) { o.Template.Kind = printtemplates.Badge }, sheet.ErrKind},
		"nothing chosen":  {func(o *bulk.Order) { o.Place = "Z" }, bulk.ErrNothing},
	} {
		o := order(t)
		c.change(&o)
		if _, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, o); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
		if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s: the directory is there: %v", name, err)
		}
	}
	if _, err := bulk.Start(t.Context(), s.Reader, s.keys, filepath.Join(dir, "in", "none"), order(t)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("in no directory: %v", err)
	}
}

func TestDirectories(t *testing.T) {
	s := found(t, "A-1")
	start := func(dir string) error {
		_, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, order(t))
		return err
	}
	resume := func(dir string) error {
		_, err := bulk.Resume(dir)
		return err
	}
	for _, c := range []struct {
		name          string
		files         []string
		start, resume error
	}{
		{"empty", nil, nil, bulk.ErrNoRun},
		{"a plan that was not finished", []string{".run.plan.1.part"}, nil, bulk.ErrNoRun},
		{"a plan", []string{"run.plan"}, bulk.ErrUnfinished, bulk.ErrPlan}, // an empty one
		{"done", []string{"report.tsv", "run.done"}, bulk.ErrDone, bulk.ErrDone},
		{"something else", []string{"photo.jpg"}, bulk.ErrNotEmpty, bulk.ErrNoRun},
	} {
		dir := t.TempDir()
		for _, f := range c.files {
			if err := os.WriteFile(filepath.Join(dir, f), nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if err := resume(dir); !errors.Is(err, c.resume) {
			t.Errorf("%s: taken up: %v, want %v", c.name, err, c.resume)
		}
		if err := start(dir); !errors.Is(err, c.start) {
			t.Errorf("%s: begun: %v, want %v", c.name, err, c.start)
		}
	}
	none := filepath.Join(t.TempDir(), "none")
	if err := resume(none); !errors.Is(err, bulk.ErrNoRun) {
		t.Errorf("a directory that is not there: %v", err)
	}
	// A run is of one register.
	dir := filepath.Join(t.TempDir(), "run")
	if err := start(dir); err != nil {
		t.Fatal(err)
	}
	run, err := bulk.Resume(dir)
	if err != nil {
		t.Fatal(err)
	}
	other := found(t, "A-1")
	if _, err := run.Work(t.Context(), other.Store, other.keys, nil); !errors.Is(err, bulk.ErrOther) || other.tags(t) != "" {
		t.Errorf("with another register: %v, which knows %q", err, other.tags(t))
	}
	// One that is ended leaves nothing but its plan, and goes on later.
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := run.Work(ended, s.Store, s.keys, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("ended: %v", err)
	}
	if got := names(files(t, dir)); got != "run.plan" {
		t.Errorf("ended: left %s", got)
	}
	if got := s.resume(t, dir); got.Printed != 1 {
		t.Errorf("taken up: %+v", got)
	}
}
