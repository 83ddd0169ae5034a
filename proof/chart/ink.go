package chart

import (
	"fmt"

	"firstsheet/proof/words"
)

// InkLimit is a usual limit of total ink on a kind of stock.
type InkLimit struct {
	Stock   string
	Percent float64
}

// InkLimits are the limits that the trade commonly keeps to, as a place to begin:
// common practice, no source. What printer and paper bear is for their makers to say.
func InkLimits() []InkLimit {
	return []InkLimit{
		{"newsprint", 240},
		{"uncoated, offset", 280},
		{"light-weight coated, web offset", 300},
		{"coated, sheet-fed offset", 330},
		{"matte or fine-art, inkjet", 240},
		{"pearl or gloss, inkjet", 300},
	}
}

// InkPractice says what the limits are worth.
const InkPractice = "Usual limits are common practice, no source: what the makers of printer and paper say comes first."

// MostInk is the largest sum of inks among measured patches, 3 being 300 %; 0 for RGB.
func MostInk(ms *Measurements) (most float64) {
	if ms.Device != CMYK {
		return 0
	}
	for _, p := range ms.Patches {
		sum := 0.0
		for _, v := range p.Device {
			sum += v
		}
		most = max(most, sum)
	}
	return most
}

// InkError says that a CMYK profile can't be built before its ink limit is said.
type InkError struct{ Measured float64 }

func (e *InkError) Error() string {
	var limits []string
	for _, l := range InkLimits() {
		limits = append(limits, fmt.Sprintf("%s %.0f %%", l.Stock, l.Percent))
	}
	return fmt.Sprintf("chart: say how much ink the stock bears; the chart goes up to %.0f %%, which no stock need bear (usual limits, common practice, no source: %s)",
		100*e.Measured, words.List(limits))
}

// InkTold says what is doubtful about a limit of total ink, before anything is built: it
// is more than is usual on the stock, or on any, or more than was measured. limit is as
// [BuildOptions] has it; stock is one of [InkLimits], "" for none.
func InkTold(limit, measured float64, stock string) []string {
	var out []string
	usual, any := 0.0, 0.0
	for _, l := range InkLimits() {
		any = max(any, l.Percent)
		if l.Stock == stock {
			usual = l.Percent
		}
	}
	switch percent := 100 * limit; {
	case usual > 0 && percent > usual:
		out = append(out, fmt.Sprintf("%.0f %% is more than the %.0f %% that are usual for ‘%s’: ink may block up, smear or not dry (common practice, no source).", percent, usual, stock))
	case percent > any:
		out = append(out, fmt.Sprintf("%.0f %% is more than is usual on any stock, %.0f %% at most: ink may block up, smear or not dry (common practice, no source).", percent, any))
	}
	if limit > measured+inkSlack {
		out = append(out, fmt.Sprintf("Nothing above %.0f %% was measured: what the profile says of more ink is guessed.", 100*measured))
	}
	return out
}

// inkSlack is how far a sum of inks may lie above a limit and still keep it: rounding of
// the tables.
const inkSlack = 0.01

// inkWarnings are what a finished profile does about its limit.
func inkWarnings(used, limit, measured float64) []string {
	if limit == 0 {
		return nil
	}
	out := InkTold(limit, measured, "")
	if used > limit+inkSlack {
		out = append(out, fmt.Sprintf("Its tables ask for up to %.0f %%, more than the limit of %.0f %%.", 100*used, 100*limit))
	}
	return out
}
