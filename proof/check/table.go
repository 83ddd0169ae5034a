package check

import (
	"strconv"

	"firstsheet/proof/chart"
)

// Table returns the sheet's values and where its patches lie: SAMPLE_ID,
// SAMPLE_NAME, RGB 0 to 255 in the sheet's space, the Lab that these numbers stand
// for (D50, relative to the space's white), and the middle and size of each patch in
// millimetres from the upper left corner of the page.
func (s *Sheet) Table() chart.Table {
	t := chart.Table{
		Kind: "CGATS.17",
		Keywords: []chart.Keyword{
			{Name: "ORIGINATOR", Value: "Firstsheet"},
			{Name: "DESCRIPTOR", Value: "check sheet: values and places of its patches"},
			{Name: "COLOR_SPACE", Value: s.Space.Name},
			{Name: "PAGE", Value: s.Page.Name},
			{Name: "PAGE_WIDTH_MM", Value: number(s.Page.W, 1)},
			{Name: "PAGE_HEIGHT_MM", Value: number(s.Page.H, 1)},
			{Name: "RESOLUTION_PPI", Value: number(s.PPI, 0)},
		},
		Fields: []string{"SAMPLE_ID", "SAMPLE_NAME", "RGB_R", "RGB_G", "RGB_B", "LAB_L", "LAB_A", "LAB_B", "X_MM", "Y_MM", "W_MM", "H_MM"},
	}
	where := places(s.Patches)
	for i, p := range s.Patches {
		row := []string{p.ID, p.Name}
		for _, v := range p.RGB {
			row = append(row, number(v*255, 0))
		}
		lab := s.Space.ToLab(p.RGB[0], p.RGB[1], p.RGB[2])
		at := s.toPage(where[i].middle())
		for _, v := range []float64{lab.L, lab.A, lab.B, at.X, at.Y, where[i].w * s.Page.scale, where[i].h * s.Page.scale} {
			row = append(row, number(v, 2))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// number gives decimals without a minus before a nought.
func number(v float64, decimals int) string {
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if f, _ := strconv.ParseFloat(text, 64); f == 0 {
		text = strconv.FormatFloat(0, 'f', decimals, 64)
	}
	return text
}
