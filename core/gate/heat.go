package gate

import (
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// heatRow is one row of the B30.9 table 9-1.8.1-1 (through four trade reprints):
// what is left, per cent, while hot and after exposure. Between two rows the
// hotter one counts; no source says to interpolate.
type heatRow struct {
	upTo                             int64 // °F
	hot80, after80, hot100, after100 int64
}

var heatRows = [...]heatRow{
	{400, 90, 100, 85, 100},
	{500, 85, 100, 75, 95},
	{600, 80, 95, 70, 85},
	{700, 70, 90, 60, 80},
	{800, 60, 85, 50, 75},
	{900, 50, 80, 40, 70},
	{1000, 40, 75, 30, 65},
}

var (
	whole   = quantity.Ratio{Num: 1, Den: 1}
	firstF  = quantity.Fahrenheit(400)  // below it no reduction
	lastF   = quantity.Fahrenheit(1000) // 29 CFR 1910.184(e)(6): above it out of service for good
	coldF   = quantity.Fahrenheit(-20)  // grades 100 and 120, a maker's limit
	coldC   = quantity.Celsius(-40)     // grade 80, B30.9 and EN 818-4
	en200   = quantity.Celsius(200)
	en300   = quantity.Celsius(300)
	en400   = quantity.Celsius(400)
	percent = quantity.Percent
)

// heatRowFor finds the first row not below the temperature; false below 400 °F,
// where there is no reduction, and above 1000 °F.
func heatRowFor(t quantity.Temperature) (heatRow, bool) {
	if t < firstF {
		return heatRow{}, false
	}
	for _, r := range heatRows {
		if t <= quantity.Fahrenheit(r.upTo) {
			return r, true
		}
	}
	return heatRow{}, false
}

// whileHot is what is left of the rating at a temperature that the chain
// reaches; reason is too-hot or too-cold, or [NotDecided] where it may be used.
func whileHot(s rating.System, g rating.Grade, t quantity.Temperature) (left quantity.Ratio, rule source.Clause, reason Reason) {
	switch {
	case g == rating.Grade80 && t <= coldC:
		return whole, source.ColdGrade80, TooCold
	case g != rating.Grade80 && t < coldF:
		return whole, source.ColdGrade100, TooCold
	}
	switch {
	case s == rating.EN && g == rating.Grade80:
		switch {
		case t <= en200:
			return whole, source.HeatGrade8, NotDecided
		case t <= en300:
			return percent(90), source.HeatGrade8, NotDecided
		case t <= en400:
			return percent(75), source.HeatGrade8, NotDecided
		}
		return whole, source.HeatGrade8, TooHot
	case s == rating.EN:
		if t > en200 {
			return whole, source.HeatGrade10, TooHot
		}
		return whole, source.HeatGrade10, NotDecided
	case g == rating.Grade120:
		if t >= firstF {
			return whole, source.HeatGrade120, TooHot
		}
		return whole, source.HeatGrade120, NotDecided
	case t > lastF:
		return whole, source.ScrapUS, TooHot
	}
	r, ok := heatRowFor(t)
	switch {
	case !ok:
		return whole, source.HeatTableUS, NotDecided
	case g == rating.Grade80:
		return percent(r.hot80), source.HeatTableUS, NotDecided
	}
	return percent(r.hot100), source.HeatTableUS, NotDecided
}

// afterHeat is what is left of the rating of a chain that has once been as hot
// as t; scrapped where nothing is.
func afterHeat(s rating.System, g rating.Grade, t quantity.Temperature) (left quantity.Ratio, rule source.Clause, scrapped bool) {
	switch {
	case s == rating.EN && t > en400:
		return whole, source.HeatGrade8, true
	case s == rating.EN && g == rating.Grade80:
		return whole, source.HeatGrade8, false // no lasting loss inside the range
	case s == rating.US && g == rating.Grade120 && t >= firstF:
		return whole, source.HeatGrade120, true
	case s == rating.US && t > lastF:
		return whole, source.ScrapUS, true
	}
	r, ok := heatRowFor(t)
	switch {
	case !ok:
		return whole, source.HeatTableUS, false
	case g == rating.Grade80:
		return percent(r.after80), source.HeatTableUS, false
	}
	return percent(r.after100), source.HeatTableUS, false
}
