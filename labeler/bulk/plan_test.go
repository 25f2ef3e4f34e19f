package bulk_test

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
	"cribgate/core/tagcode"
	"cribgate/labeler/bulk"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
)

const id = "0123456789abcdef0123456789abcdef"

func spelled(t interface {
	Helper()
	Fatal(...any)
}, p bulk.Plan) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// What is written is read again, and spelled the same.
func TestPlanReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[ -~äöü"\\]{0,12}`)
		ident := rapid.StringMatching(`[A-Z0-9]([A-Z0-9./-]{0,6}[A-Z0-9])?`)
		p := bulk.Plan{
			Run: id, Log: rapid.StringMatching(`[0-9a-f]{32}`).Draw(t, "log"),
			Key: tagcode.Fingerprint{1, 2, 3, rapid.Byte().Draw(t, "key")}, Prefix: text.Draw(t, "prefix"), Register: text.Draw(t, "register"),
			Template: text.Draw(t, "template"), Own: text.Draw(t, "own"),
			Format: rapid.SampledFrom(print.Formats()).Draw(t, "format"), DPI: rapid.IntRange(0, 2400).Draw(t, "dpi"),
			Outline: rapid.Bool().Draw(t, "outline"), First: rapid.IntRange(0, 99).Draw(t, "first"),
			Period:  rapid.SampledFrom(append(printtemplates.Colours(), printtemplates.NoColour)).Draw(t, "period"),
			Entries: []bulk.Entry{}, Left: []bulk.Left{},
		}
		for _, i := range rapid.SliceOfNDistinct(ident, 1, 5, rapid.ID[string]).Draw(t, "idents") {
			p.Entries = append(p.Entries, bulk.Entry{
				Ident: i, Serial: tagcode.Serial(rapid.IntRange(1, 1023).Draw(t, "serial")), Stock: text.Draw(t, "stock"), Unknown: text.Draw(t, "unknown"),
			})
		}
		for _, i := range rapid.SliceOfN(ident, 0, 3).Draw(t, "left") {
			p.Left = append(p.Left, bulk.Left{Ident: i, Why: text.Draw(t, "why")})
		}
		written := spelled(t, p)
		got, err := bulk.ReadPlan(strings.NewReader(written))
		if err != nil || !reflect.DeepEqual(got, p) {
			t.Fatalf("read as %+v, %v; was %+v", got, err, p)
		}
		if again := spelled(t, got); again != written {
			t.Fatalf("spelled %q, was %q", again, written)
		}
		// A plan that was cut short, split or written twice is seen.
		at := rapid.IntRange(0, len(written)-1).Draw(t, "at")
		for _, spoilt := range []string{written[:at], written[:at] + "\n" + written[at:], written + written[at:]} {
			if got, err := bulk.ReadPlan(strings.NewReader(spoilt)); !errors.Is(err, bulk.ErrPlan) || !reflect.DeepEqual(got, bulk.Plan{}) {
				t.Fatalf("%q is read as %+v, %v", spoilt, got, err)
			}
		}
	})
}

func TestPlanRefuses(t *testing.T) {
	good := spelled(t, bulk.Plan{
		Run: id, Log: id, Key: tagcode.Fingerprint{1}, Template: "disc-70", Format: print.PDF,
		Entries: []bulk.Entry{{Ident: "A-1", Serial: 3, Stock: "disc-70"}, {Ident: "A-2", Serial: 1, Stock: "disc-70", Unknown: "old"}},
		Left:    []bulk.Left{{Ident: "A-3", Why: "it is lost"}},
	})
	if _, err := bulk.ReadPlan(strings.NewReader(good)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, want string }{
		{`"format":1`, `"format":2`, "line 1: run.format: 2 is not from 1 to 1"},
		{`"run":"0`, `"run":"`, "line 1: run.run: not an id"},
		{`"run":"0123456789abcdef0123456789abcdef"`, `"run":"0123456789ABCDEF0123456789abcdef"`, "line 1: run.run: not an id"},
		{`"output":".pdf"`, `"output":".txt"`, "line 1: run.output"},
		{`"period":""`, `"period":"pink"`, "line 1: run.period"},
		{`"key":"01000000"`, `"key":"01"`, "line 1: run.key"},
		{`"entries":2`, `"entries":0`, "line 1: run.entries: 0 is not from 1"},
		{`"entries":2`, `"entries":1`, "line 3: left.why: missing"},
		{`"entries":2`, `"entries":3`, "line 4: "},
		{`"left":1`, `"left":0`, "line 4: there is more than the plan says"},
		{`"left":1`, `"left":2`, "line 5 is missing"},
		{`"outline":false`, `"outline":false,"colour":1`, `unknown name "colour"`},
		{`"outline":false`, ` "outline":false`, "line 1 is spelled in another way"},
		{`"id":"A-1"`, `"id":"a-1"`, "line 2: entry.id: not an identification"},
		{`"id":"A-2"`, `"id":"A-1"`, "line 3: entry.id: A-1 is there already"},
		{`"serial":3`, `"serial":0`, "line 2: entry.serial: 0 is not from 1 to 1023"},
		{`"serial":3`, `"serial":1024`, "line 2: entry.serial: 1024 is not from 1 to 1023"},
		{`,"unknown":"old"`, `,"unknown":""`, "line 3 is spelled in another way"},
		{`{"id":"A-2"`, "\n" + `{"id":"A-2"`, "line 3: "},
		{"\n" + `{"id":"A-3"`, "\r\n" + `{"id":"A-3"`, "line 3 is spelled in another way"},
		{"is lost\"}\n", "is lost\"}", "the last line has no end"},
	} {
		if !strings.Contains(good, c.old) {
			t.Fatalf("%q is not in %s", c.old, good)
		}
		bad := strings.Replace(good, c.old, c.new, 1)
		if p, err := bulk.ReadPlan(strings.NewReader(bad)); !errors.Is(err, bulk.ErrPlan) || !strings.Contains(fmt.Sprint(err), c.want) || p.Run != "" {
			t.Errorf("%s: %v, want %q", c.new, err, c.want)
		}
	}
}

// What is read as a plan is spelled as it was read.
func FuzzReadPlan(f *testing.F) {
	head := `{"format":1,"run":"` + id + `","log":"` + id + `","key":"01020304","prefix":"","register":"/r","template":"disc-70","own":"",` +
		`"output":".png","dpi":300,"outline":true,"period":"blue","first":2,"entries":1,"left":%d}` + "\n"
	seeds := []string{
		"", "\n", "{}\n",
		fmt.Sprintf(head, 0) + `{"id":"A-1","serial":1,"stock":"disc-70"}` + "\n",
		fmt.Sprintf(head, 1) + `{"id":"A-1","serial":1,"stock":"disc-70","unknown":"x"}` + "\n" + `{"id":"A-2","why":"it is lost"}` + "\n",
		fmt.Sprintf(head, 0) + `{"id":"A-1","serial":1,"stock":"disc-70"}` + "\n\n",
	}
	good := 0
	for _, s := range seeds {
		if _, err := bulk.ReadPlan(strings.NewReader(s)); err == nil {
			good++
		}
		f.Add(s)
	}
	if len(seeds) != 6 || good != 2 {
		f.Fatalf("%d seeds, %d of them plans", len(seeds), good)
	}
	f.Fuzz(func(t *testing.T, text string) {
		bounded.Run(t, time.Now, 8<<20, func() {
			p, err := bulk.ReadPlan(strings.NewReader(text))
			if err != nil {
				if !errors.Is(err, bulk.ErrPlan) || !reflect.DeepEqual(p, bulk.Plan{}) {
					t.Fatalf("%v, and %+v", err, p)
				}
				return
			}
			if got := spelled(t, p); got != text {
				t.Fatalf("spelled %q, was %q", got, text)
			}
		})
	})
}
