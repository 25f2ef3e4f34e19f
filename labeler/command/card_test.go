package command_test

import (
	"crypto/rand"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// inspected is the day before the test, wherever the clock stands: a card goes by
// the machine's clock.
func inspected() quantity.Date { return quantity.DateOf(time.Now().UTC()).AddDays(-1) }

// inspectedcrib DIR makes a register of slings that were inspected the day
// before: GOOD, HELD and RETIRED, which are what they are called, and OVERDUE, which was not.
func inspectedcrib(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: inspectedcrib dir")
	}
	fit := event.Inspected{
		Date: inspected(), Outcome: tagcode.Fit, Service: due.Normal, Due: inspected().AddMonths(12), RatingTag: gate.TagLegible,
	}
	ts.Check(found(ts.MkAbs(args[0]), rand.Reader, []string{"GOOD", "HELD", "RETIRED", "OVERDUE"}, func(_ event.SlingID, n int) []event.Body {
		return [][]event.Body{
			{fit},
			{fit, event.Held{Reason: "looks odd"}},
			{fit, event.Retired{Reason: "worn", How: "cut up"}},
			{event.Inspected{
				Date: inspected().AddMonths(-13), Outcome: tagcode.Fit, Service: due.Normal, Due: inspected().AddMonths(-1), RatingTag: gate.TagLegible,
			}},
		}[n]
	}))
}

// slingline FILE [OLD NEW]… writes the line of a sling that was inspected the day before,
// with parts of it changed.
func slingline(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args)%2 != 1 {
		ts.Fatalf("usage: slingline file [old new]…")
	}
	line := fmt.Sprintf(`{"id":"CS-0417","serial":3,"outcome":"fit","system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,`+
		`"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"rating_tag":"legible","state":"in","inspected":"%s","due":"%s"}`, inspected(), inspected().AddMonths(12))
	for i := 1; i < len(args); i += 2 {
		if !strings.Contains(line, args[i]) {
			ts.Fatalf("slingline: no %q in it", args[i])
		}
		line = strings.ReplaceAll(line, args[i], args[i+1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(line+"\n"), 0o644))
}
