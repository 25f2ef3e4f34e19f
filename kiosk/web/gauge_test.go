package web

import (
	"strings"
	"testing"

	"cribgate/core/quantity"
)

func TestReadGauge(t *testing.T) {
	in, mm := quantity.Imperial, quantity.Metric
	for _, c := range []struct {
		text string
		unit quantity.Units
		want quantity.Length // rounded down
		says string
	}{
		{"19/64", in, 7_540, ""}, // 7,540.625
		{"0.297", in, 7_543, ""}, // 7,543.8
		{".297", in, 7_543, ""},
		{"1 3/16", in, 30_162, ""},
		{"1-3/16", in, 30_162, ""},
		{" 0.2969  in ", in, 7_541, ""},
		{`0.5"`, mm, 12_700, ""},
		{"13", in, 330_200, ""},
		{"7.54", mm, 7_540, ""},
		{"7.54 mm", in, 7_540, ""},
		{"0.297in", mm, 7_543, ""},
		{"330", mm, 330_000, ""},
		{"0.0001", mm, 0, "no length"},
		{"0.29.7", in, 0, "more than one point"},
		{"7,54", mm, 0, "not a comma"},
		{"-0.3", in, 0, "more than nothing"},
		{"19/65", in, 0, "No rule has this fraction"},
		{"19/0", in, 0, "No rule has this fraction"},
		{"64/64", in, 0, "No rule has this fraction"},
		{"3/48", in, 0, "No rule has this fraction"},
		{"19/64", mm, 0, "is of inches"},
		{"19/64 mm", in, 0, "is of inches"},
		{"0.29.7 in", mm, 0, "more than one point"},
		{"x", in, 0, "Type inches"},
		{"x", mm, 0, "Type millimetres"},
		{"", in, 0, "Type inches"},
		{".", mm, 0, "Type millimetres"},
		{"1e3", mm, 0, "Type millimetres"},
		{"1 000", mm, 0, "Type millimetres"},
		{"0", mm, 0, "no length"},
		{"999999999", mm, 0, "Type millimetres"},
		{"999999", in, 0, "no length"},
	} {
		got, says := readGauge(c.text, c.unit, false)
		if got != c.want && c.says == "" || c.says != "" && got != 0 || (says == "") != (c.says == "") || !strings.Contains(says, c.says) {
			t.Errorf("%q %s: %d %q", c.text, c.unit, got, says)
		}
	}
	if up, _ := readGauge("19/64", in, true); up != 7_541 {
		t.Errorf("19/64 rounded up is %d", up)
	}
	for _, c := range []struct {
		l              quantity.Length
		unit           quantity.Units
		text, up, down string
	}{
		{7_543, in, "0.297 in", "0.297 in", "0.2969 in"},
		{8_690, in, "0.3421 in", "0.3422 in", "0.3421 in"}, // B30.9, least thickness of 3/8 chain
		{8_686, in, "0.342 in", "0.342 in", "0.3419 in"},
		{25_400, in, "1 in", "1 in", "1 in"},
		{7_541, mm, "7.541 mm", "7.541 mm", "7.541 mm"},
		{330_000, mm, "330 mm", "330 mm", "330 mm"},
	} {
		if text, up, down := c.unit.Measured(c.l), c.unit.MeasuredLimit(c.l, false), c.unit.MeasuredLimit(c.l, true); text != c.text || up != c.up || down != c.down {
			t.Errorf("%d: %q %q %q", c.l, text, up, down)
		}
	}
}

// What is worn is taken, what is strange is asked about, with the slip that explains it.
func TestStrange(t *testing.T) {
	const new = 10_000 // 3/8 in chain
	for _, c := range []struct {
		l    quantity.Length
		unit quantity.Units
		want string
	}{
		{new, quantity.Metric, ""}, {5_000, quantity.Metric, ""}, {15_000, quantity.Metric, ""},
		{4_999, quantity.Metric, "of this part"}, {15_001, quantity.Metric, "of this part"},
		{940, quantity.Metric, "point slip"}, {94_000, quantity.Metric, "point slip"}, {94, quantity.Metric, "point slip"},
		{370, quantity.Metric, "Is it in inches"},      // 0.37 typed in millimetres
		{238_760, quantity.Imperial, "in millimetres"}, // 9.4 typed in inches
	} {
		got := strange(c.l, ought{new, "the nominal diameter"}, c.unit)
		if (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
			t.Errorf("%d: %q", c.l, got)
		}
	}
	if got := strange(94_000, ought{new, "the nominal diameter"}, quantity.Metric); got != "94 mm is far from 10 mm, the nominal diameter. Did the point slip?" {
		t.Errorf("without what was typed, its unit, or by what: %q", got)
	}
	if strange(1, ought{}, quantity.Metric) != "" {
		t.Error("asked about what nobody knows")
	}
}
