package print_test

import (
	"slices"
	"strings"
	"testing"

	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// What the forty bytes have no room for is not kept from people: a load that the
// record knows to be too high does not stand there to rig by.
func TestWordsWhereTheRecordKnowsBetter(t *testing.T) {
	stamp := func(more string) string {
		return strings.Replace(line, `"load_lb":12300}`, `"load_lb":12300},`+more, 1)
	}
	part := func(more string) string { return strings.Replace(line, `"rating_tag"`, more+`,"rating_tag"`, 1) }
	for _, c := range []struct {
		name, text string
		want, not  []string
	}{
		{"stamps that disagree", stamp(`{"legs":2,"basis":"h45","load_lb":5000}`),
			[]string{"Rated load in doubt", "PLATE IN DOUBT"}, []string{"Rated load 12,300 lb", "at 60° from horizontal", "Due 10 Nov 2026"}},
		{"held, and stamps that disagree", strings.Replace(stamp(`{"legs":2,"basis":"h45","load_lb":5000}`), `"fit"`, `"hold"`, 1),
			[]string{"Rated load in doubt", "HELD: not for use"}, []string{"PLATE IN DOUBT"}},
		{"stamped twice", stamp(`{"legs":2,"basis":"h60","load_lb":11900}`),
			[]string{"Rated load see record", "Due 10 Nov 2026"}, []string{"Rated load 12,300 lb", "at 60° from horizontal"}},
		{"stamped twice, the other higher", stamp(`{"legs":2,"basis":"h60","load_lb":12400}`),
			[]string{"Rated load 12,300 lb", "at 60° from horizontal"}, nil},
		{"a weaker component", part(`"weakest_lb":3000`),
			[]string{"Rated load see record", "Due 10 Nov 2026"}, []string{"Rated load 12,300 lb", "at 60° from horizontal"}},
		{"a component as strong", part(`"weakest_lb":7100`), []string{"Rated load 12,300 lb", "at 60° from horizontal"}, nil},
		{"a weaker upper fitting", part(`"master_lb":12000`), []string{"Rated load see record"}, []string{"Rated load 12,300 lb"}},
	} {
		got := words(t, c.text)
		for _, w := range c.want {
			if !got[w] {
				t.Errorf("%s: no %q among %v", c.name, w, got)
			}
		}
		for _, w := range c.not {
			if got[w] {
				t.Errorf("%s: %q is printed", c.name, w)
			}
		}
	}
}

// Every stock has room for what stands in the place of a load.
func TestEveryStockHasRoomWithoutALoad(t *testing.T) {
	names, err := printtemplates.List()
	if err != nil {
		t.Fatal(err)
	}
	bare := strings.Replace(line, `{"legs":2,"basis":"h60","load_lb":12300}`, ``, 1)
	weak := strings.Replace(line, `"rating_tag"`, `"weakest_lb":3000,"rating_tag"`, 1)
	high := strings.Replace(line, "12300", "99999", 1)
	drawn := 0
	for _, name := range names {
		stock := stock(t, name)
		if stock.Kind != printtemplates.Tag {
			continue
		}
		for want, text := range map[string]string{"see rating tag": bare, "see record": weak, "in doubt": high} {
			d, err := one(t, text).Draw(stock)
			if err != nil {
				t.Errorf("%s: %v", stock.Name, err)
				continue
			}
			if !slices.ContainsFunc(d.Texts, func(x sheet.Text) bool { return strings.HasSuffix(x.String, want) }) {
				t.Errorf("%s: no %q", stock.Name, want)
			}
			drawn++
		}
	}
	if drawn < 3*7 {
		t.Errorf("%d drawn", drawn)
	}
}
