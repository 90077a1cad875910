package schema

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Setting is a choice that a ledger keeps: its name, what holds where nothing
// was set, what it means, and what it may be.
type Setting struct {
	Name    string
	Default string
	Meaning string
	// Changes tells whether setting it changes past numbers, so that the
	// change is shown first and asks to be confirmed.
	Changes bool
	check   func(string) error
}

// EstimatorSetting names the setting that says which estimator of a double
// sample speaks.
const EstimatorSetting = "double-sampling-estimator"

// Settings lists every setting.
var Settings = []Setting{
	{"name", "", "the ledger's name, printed on every page (blank: the file's name)", false, anyText},
	{"basis", AirDry, "the basis of every dry weight shown: air-dry or oven-dry", true, oneOf(AirDry, OvenDry)},
	{"moisture", "0.10", "water left in air-dry material, as a fraction: oven-dry = air-dry × (1 − moisture); a trade approximation", true, within(0, 0.5)},
	{"book-tables", HandbookTable, "book tables in force, in order of preference, with commas between", true, anyText},
	{"trace-g", "0", "grams of dry matter that a trace (T) counts for", true, within(0, 10)},
	{"fallback-herbaceous", "", "percent dry matter of herbaceous where nothing better is known (counts as book value; blank: none)", true, blankOr(within(1, 100))},
	{"fallback-browse", "", "the same for browse", true, blankOr(within(1, 100))},
	{"fallback-standing-dead", "", "the same for standing dead", true, blankOr(within(1, 100))},
	{"fallback-litter", "", "the same for litter", true, blankOr(within(1, 100))},
	{"units", "lb/ac", "units of weight per area: lb/ac, kg/ha or g/m2", false, oneOf("lb/ac", "kg/ha", "g/m2")},
	{"confidence", "0.90", "confidence of every interval, and 1 − alpha of every verdict", false, within(0.5, 0.999)},
	{"precision", "0.20", "wanted half-width of the interval, as a fraction of the mean", false, within(0.01, 1)},
	{"adequacy-confidence", "0.80", "confidence at which the precision is wanted", false, within(0.5, 0.999)},
	{"sides", "two-sided", "t of the sample size: two-sided, or one-sided as some agencies require", false, oneOf("two-sided", "one-sided")},
	{"sample-size-rule", "iterated", "iterated: the smallest n that is enough; pilot: (t·s/(d·mean))² at the degrees of freedom in hand, not rounded", false, oneOf("iterated", "pilot")},
	{"assurance", "0.90", "probability with which the assured sample size reaches the precision", false, within(0.5, 0.999)},
	{"forage-share", "", "share of production that may be harvested, as a fraction; your own, by local rules (blank: forage refuses)", false, blankOr(within(0.001, 1))},
	{"forage-demand", "", "dry matter that one animal unit takes a day, such as 26 lb or 12 kg; your own", false, blankOr(dailyWeight)},
	{"forage-demand-basis", "", "moisture basis of forage-demand: air-dry or oven-dry; sources differ, say which", false, blankOr(oneOf(AirDry, OvenDry))},
	{"forage-days", "", "days in a month of forage, such as 30 or 30.4", false, blankOr(within(28, 31))},
	{"transect-cost", "5", "cost of one more transect, counted in frames (an assumption; used for the best frames per transect)", false, within(0.01, 1000)},
	{EstimatorSetting, "ratio", "which answer of a double sample speaks: ratio, regression or clipped-only; choose before looking at them", false, oneOf("ratio", "regression", "clipped-only")},
	{"title", "", "title of the dataset in exports", false, anyText},
	{"abstract", "", "what was measured, where, when and why, in a few sentences, for exports", false, longText},
	{"creators", "", "whose work the dataset is, for exports: names with ; between", false, longText},
	{"contact", "", "whom a reader of an export can ask: a name", false, anyText},
	{"contact-email", "", "and the address of the contact", false, anyText},
	{"licence", "", "terms under which others may use an export, such as CC-BY-4.0", false, anyText},
	{"citation", "", "how the dataset is to be cited", false, longText},
	{"keywords", "", "words by which the dataset is found: with ; between", false, longText},
	{"location", "", "where the sites lie, in words, for exports without coordinates", false, anyText},
}

// SettingNamed finds a setting's definition.
func SettingNamed(name string) (Setting, bool) {
	i := slices.IndexFunc(Settings, func(s Setting) bool { return s.Name == name })
	if i < 0 {
		return Setting{}, false
	}
	return Settings[i], true
}

// Check tells what is wrong with a value, if anything.
func (s Setting) Check(value string) error { return s.check(value) }

func anyText(value string) error {
	if len(value) > 200 || strings.ContainsFunc(value, unicode.IsControl) {
		return fmt.Errorf("is too long or holds a control character")
	}
	return nil
}

func longText(value string) error {
	if len(value) > 5000 || strings.ContainsFunc(value, unicode.IsControl) {
		return fmt.Errorf("is too long or holds a control character")
	}
	return nil
}

func oneOf(words ...string) func(string) error {
	return func(value string) error {
		if !slices.Contains(words, value) {
			return fmt.Errorf("must be %s", strings.Join(words, " or "))
		}
		return nil
	}
}

func within(low, high float64) func(string) error {
	return func(value string) error {
		f, err := strconv.ParseFloat(value, 64)
		if err != nil || !(f >= low && f <= high) {
			return fmt.Errorf("must be a number from %g to %g", low, high)
		}
		return nil
	}
}

// dailyWeight takes a weight in pounds or kilograms.
func dailyWeight(value string) error {
	number, unit, _ := strings.Cut(value, " ")
	if f, err := strconv.ParseFloat(number, 64); err == nil && f > 0 && f < 1000 && (unit == "lb" || unit == "kg") {
		return nil
	}
	return fmt.Errorf("must be a weight such as 26 lb or 12 kg")
}

func blankOr(check func(string) error) func(string) error {
	return func(value string) error {
		if value == "" {
			return nil
		}
		return check(value)
	}
}

// Values are a ledger's settings in force, by name, defaults filled in.
type Values map[string]string

// defaultValues are the settings of a ledger in which nothing was set.
func defaultValues() Values {
	v := Values{}
	for _, s := range Settings {
		v[s.Name] = s.Default
	}
	return v
}

// Number reads a numeric setting; blank gives false.
func (v Values) Number(name string) (float64, bool) {
	f, err := strconv.ParseFloat(v[name], 64)
	return f, err == nil
}

// Must reads a numeric setting that cannot be blank.
func (v Values) Must(name string) float64 {
	f, ok := v.Number(name)
	if !ok {
		panic("schema: setting " + name + " is not a number")
	}
	return f
}

// BookTables are the names of the tables in force, in order.
func (v Values) BookTables() []string {
	var out []string
	for name := range strings.SplitSeq(v["book-tables"], ",") {
		if name = strings.TrimSpace(name); name != "" {
			out = append(out, name)
		}
	}
	return out
}

// BasisFactors turn a weight on each basis into the ledger's. Oven-dry is
// air-dry × (1 − m); unknown is taken as the ledger's.
func (v Values) BasisFactors() map[string]float64 {
	dry := 1 - v.Must("moisture")
	f := map[string]float64{AirDry: 1, OvenDry: 1 / dry, UnknownBasis: 1}
	if v["basis"] == OvenDry {
		f[AirDry], f[OvenDry] = dry, 1
	}
	return f
}

// PutSetting writes one setting.
func (im *Import) PutSetting(name, value string) error {
	s, ok := SettingNamed(name)
	if !ok {
		return fmt.Errorf("there is no setting %q", name)
	}
	changed, err := im.put("setting", []field{key("name", name)}, []field{{name: "value", value: value, shown: value}}, 0)
	if changed && s.Changes {
		im.touch.rules = true
	}
	return err
}
