package sheet_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// A sling that stays in has no due marks, but says why.
func TestMarksFollowTheDueDay(t *testing.T) {
	solid := func(d sheet.Drawing) (n int) {
		for _, a := range d.Ink {
			if len(a.Path) == 5 && a.Path[1].Op == sheet.Cube { // one circle, not two
				n++
			}
		}
		return n
	}
	rings := func(d sheet.Drawing) (n int) {
		for _, a := range d.Ink {
			if len(a.Path) == 10 && a.Path[1].Op == sheet.Cube {
				n++
			}
		}
		return n
	}
	bold := func(d sheet.Drawing) (marks []string) {
		for _, x := range d.Texts {
			if x.Font == printtemplates.Bold && len(x.String) <= 4 {
				marks = append(marks, x.String)
			}
		}
		return marks
	}
	for _, stock := range stocks(t) {
		if stock.Marks.Months == nil {
			continue
		}
		content := usual(t)
		d, err := sheet.Layout(stock, content)
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprint(bold(d)); solid(d) != 2 || got != "[11 2026]" {
			t.Errorf("%s: %d solid marks, bold %s", stock.Name, solid(d), got)
		}
		content.Due = quantity.Date{}
		content.Facts[printtemplates.Status] = "HELD: not for use"
		if d, err = sheet.Layout(stock, content); err != nil {
			t.Fatal(err)
		}
		if solid(d) != 0 || bold(d) != nil {
			t.Errorf("%s: %d solid marks without a due day", stock.Name, solid(d))
		}
		if !strings.Contains(list(d), "HELD: not for use") {
			t.Errorf("%s: no status", stock.Name)
		}
		content.FirstYear = 0
		if d, err = sheet.Layout(stock, content); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(list(d), `"2025"`) || rings(d) != 16 {
			t.Errorf("%s: numbered years, or %d rings", stock.Name, rings(d))
		}
	}
}

// Whatever day is due, its month and year and no other are filled, the numbers
// beside them are those of the printed day, and both are the day that was given.
func TestDueDayAndMarksAgree(t *testing.T) {
	all, base := stocks(t), usual(t)
	rapid.Check(t, func(t *rapid.T) {
		stock := rapid.SampledFrom(all).Draw(t, "stock")
		content := base
		first := rapid.IntRange(2000, 2100).Draw(t, "first year")
		years := max(1, len(stock.Marks.Years))
		due, ok := quantity.NewDate(first+rapid.IntRange(0, years-1).Draw(t, "year"), rapid.IntRange(1, 12).Draw(t, "month"), rapid.IntRange(1, 28).Draw(t, "day"))
		if !ok {
			t.Fatal("no such day")
		}
		content.Due, content.FirstYear = due, first
		d, err := sheet.Layout(stock, content)
		if err != nil {
			t.Fatal(err)
		}
		printed := time.Time{}
		for _, x := range d.Texts {
			if text, ok := strings.CutPrefix(x.String, "Due "); ok {
				if printed, err = time.Parse("2 Jan 2006", text); err != nil {
					t.Fatal(err)
				}
			}
		}
		if got := printed.Format(time.DateOnly); got != due.String() {
			t.Fatalf("%s: %s is printed as %s", stock.Name, due, got)
		}
		for _, row := range []struct {
			name  string
			marks []printtemplates.Mark
			want  int // the filled one's number
			first int
		}{
			{"month", stock.Marks.Months, int(printed.Month()), 1},
			{"year", stock.Marks.Years, printed.Year(), first},
		} {
			for i, m := range row.marks {
				filled := slices.ContainsFunc(d.Ink, func(a sheet.Area) bool {
					r := box(a.Path)
					middle := sheet.Point{X: (r.Min.X + r.Max.X) / 2, Y: (r.Min.Y + r.Max.Y) / 2}
					return len(a.Path) == 5 && middle == m.Ring
				})
				if filled != (row.first+i == row.want) {
					t.Fatalf("%s, due %s: %s %d filled: %v", stock.Name, due, row.name, row.first+i, filled)
				}
				label := slices.IndexFunc(d.Texts, func(x sheet.Text) bool {
					return x.String == strconv.Itoa(row.first+i) && near(x, m.Label)
				})
				if label < 0 || (d.Texts[label].Font == printtemplates.Bold) != filled {
					t.Fatalf("%s, due %s: %s %d has no such number beside its ring", stock.Name, due, row.name, row.first+i)
				}
			}
		}
	})
}

// near says whether a point lies within a text.
func near(x sheet.Text, p sheet.Point) bool {
	return p.X >= x.Ink.Min.X && p.X <= x.Ink.Max.X && p.Y >= x.Ink.Min.Y && p.Y <= x.Ink.Max.Y
}
