package gate

import "math/big"

type oracleStamp struct {
	Legs   int    `json:"legs"`
	Basis  string `json:"basis"`
	LoadG  *int64 `json:"load_g,omitempty"`
	LoadLb *int64 `json:"load_lb,omitempty"`
}

type oracleSling struct {
	System     string        `json:"system"`
	Grade      int           `json:"grade"`
	Size       string        `json:"size"`
	Legs       int           `json:"legs"`
	Reach      *int64        `json:"reach_mm,omitempty"`
	Adjustable bool          `json:"adjustable"`
	Stamped    []oracleStamp `json:"stamped"`
	ChartG     *int64        `json:"chart_g"`
	ChartLb    *int64        `json:"chart_lb,omitempty"`
	WeakestG   *int64        `json:"weakest_g,omitempty"`
	WeakestLb  *int64        `json:"weakest_lb,omitempty"`
	MasterG    *int64        `json:"master_g,omitempty"`
	MasterLb   *int64        `json:"master_lb,omitempty"`
	HottestC   *int64        `json:"hottest_c,omitempty"`
	HottestF   *int64        `json:"hottest_f,omitempty"`
	RatingTag  string        `json:"rating_tag"`
	State      string        `json:"state"`
	Inspected  *string       `json:"inspected"`
	Due        *string       `json:"due"`
}

type oracleAngle struct {
	From string `json:"from"`
	Mdeg int64  `json:"mdeg"`
}

type oracleLift struct {
	Use       *string      `json:"use"`
	LoadG     *int64       `json:"load_g,omitempty"`
	LoadLb    *int64       `json:"load_lb,omitempty"`
	Margin    *int64       `json:"margin_pct"`
	Hitch     *string      `json:"hitch,omitempty"`
	Legs      int          `json:"legs"`
	Singles   bool         `json:"singles,omitempty"`
	Angle     *oracleAngle `json:"angle"`
	Centred   *bool        `json:"centred,omitempty"`
	Shortened *string      `json:"shortened"`
	TempC     *int64       `json:"temp_c"`
	TempF     *int64       `json:"temp_f"`
	Edge      *int64       `json:"edge_radius_mm"`
	Choke     *int64       `json:"choke_mdeg"`
	ReturnBy  *string      `json:"return_by"`

	Picks   []oraclePoint `json:"picks"`
	CG      *oraclePoint  `json:"cg"`
	Hook    *int64        `json:"hook_mm"`
	HookMax *int64        `json:"hook_max_mm"`
}

type oraclePoint struct {
	X int64 `json:"x_mm"`
	Y int64 `json:"y_mm"`
	Z int64 `json:"z_mm"`
}

type oraclePolicy struct {
	Angles *string `json:"angles,omitempty"`
	Choke  *string `json:"choke,omitempty"`
	Months *int64  `json:"max_months,omitempty"`
	Tilt   *int64  `json:"max_tilt_mdeg,omitempty"`
}

type oracleQuestion struct {
	ID     string        `json:"id"`
	Now    string        `json:"now"`
	Policy *oraclePolicy `json:"policy,omitempty"`
	Sling  oracleSling   `json:"sling"`
	Lift   *oracleLift   `json:"lift,omitempty"`
}

func rat(a, b int64) *big.Rat { return big.NewRat(a, b) }
func times(a *big.Rat, more ...*big.Rat) *big.Rat {
	p := new(big.Rat).Set(a)
	for _, m := range more {
		p.Mul(p, m)
	}
	return p
}
func lesser(a, b *big.Rat) *big.Rat {
	if b != nil && (a == nil || b.Cmp(a) < 0) {
		return b
	}
	return a
}

var poundInGrams = rat(45_359_237, 100_000)

func gramsOf(g, lb *int64) *big.Rat {
	switch {
	case g != nil:
		return rat(*g, 1)
	case lb != nil:
		return times(rat(*lb, 1), poundInGrams)
	}
	return nil
}

func nearestGram(r *big.Rat) int64 {
	r = new(big.Rat).Add(r, rat(1, 2))
	q := new(big.Int).Div(r.Num(), r.Denom())
	return q.Int64()
}
