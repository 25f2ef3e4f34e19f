package gate

import "math/big"

// ninths of a degree Celsius; 400 °F is 1840 of them.
func ninthsOf(c, f *int64) *int64 {
	var n int64
	switch {
	case c != nil:
		n = *c * 9
	case f != nil:
		n = (*f - 32) * 5
	default:
		return nil
	}
	return &n
}

var oracleHeat = [7][4]int64{ // per cent off: 80 hot, 80 after, 100 hot, 100 after; 400 to 1000 °F
	{10, 0, 15, 0}, {15, 0, 25, 5}, {20, 5, 30, 15}, {30, 10, 40, 20}, {40, 15, 50, 25}, {50, 20, 60, 30}, {60, 25, 70, 35},
}

func oracleRow(ninths int64, column int) *big.Rat {
	if ninths < 1840 {
		return rat(1, 1)
	}
	row := 0
	for ninths > 1840+500*int64(row) {
		row++
	}
	return rat(100-oracleHeat[row][column], 100)
}

func (o *oracle) after() *big.Rat {
	s := &o.q.Sling
	t := ninthsOf(s.HottestC, s.HottestF)
	if t == nil {
		return rat(1, 1)
	}
	switch {
	case s.System == "en" && *t > 3600, s.System == "us" && *t > 4840, s.System == "us" && s.Grade == 120 && *t >= 1840:
		o.has["heat-scrapped"] = true
		return rat(1, 1)
	case s.System == "en" && s.Grade == 80:
		return rat(1, 1)
	case s.Grade == 80:
		return oracleRow(*t, 1)
	}
	return oracleRow(*t, 3)
}

func (o *oracle) hot() *big.Rat {
	s := &o.q.Sling
	t := ninthsOf(o.q.Lift.TempC, o.q.Lift.TempF)
	if t == nil {
		return rat(1, 1)
	}
	if s.Grade == 80 && *t <= -360 || s.Grade > 80 && *t < -260 {
		o.has["too-cold"] = true
	}
	limit := map[string]map[int]int64{"us": {80: 4840, 100: 4840, 120: 1839}, "en": {80: 3600, 100: 1800, 120: 1800}}[s.System][s.Grade]
	switch {
	case *t > limit:
		o.has["too-hot"] = true
	case s.System == "us" && s.Grade == 80:
		return oracleRow(*t, 0)
	case s.System == "us":
		return oracleRow(*t, 2)
	case *t > 2700:
		return rat(75, 100)
	case *t > 1800:
		return rat(90, 100)
	}
	return rat(1, 1)
}
