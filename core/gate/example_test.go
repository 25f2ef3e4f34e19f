package gate_test

import (
	"fmt"

	"cribgate/core/gate"
	"cribgate/core/quantity"
)

func Example() {
	line := `{"id":"q1","now":"2026-03-02",
		"sling":{"system":"us","grade":80,"size":"3/8","legs":2,"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],
			"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"},
		"lift":{"load_lb":10001,"legs":2,"angle":{"from":"horizontal","mdeg":50000},"centred":true}}`
	q, err := gate.ParseQuestion([]byte(line))
	if err != nil {
		fmt.Println(err)
		return
	}
	a, err := gate.Explain(q)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(a.Verdict())
	for _, r := range a.Reasons {
		text := r.Text(a, gate.Speech{})
		fmt.Println(text.Sentence)
		fmt.Println(text.Next)
	}
	last := a.Working[len(a.Working)-1]
	fmt.Printf("%s: %s, by %s\n", last.What, last.Figure.Text(quantity.Imperial), last.Source)
	// Output:
	// refuse
	// Too light for this lift: the lift needs 10,001 lb and this sling may carry 10,000 lb.
	// Take a stronger sling, or make the legs steeper.
	// allowed for this lift: 10,000 lb, by US OSHA, Guidance on Safe Sling Use, table 1
}
