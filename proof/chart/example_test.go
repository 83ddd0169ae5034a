package chart_test

import (
	"context"
	"fmt"
	"strings"

	"firstsheet/proof/chart"
)

func ExampleRead() {
	ms, err := chart.Read(strings.NewReader(`CGATS.17
BEGIN_DATA_FORMAT
SAMPLE_ID SAMPLE_LOC RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B
END_DATA_FORMAT
BEGIN_DATA
1 1A01 255 255 255 95.5 0.2 -2.1
2 1A02 0 0 0 4.8 0.1 -0.4
END_DATA
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range ms.Patches {
		fmt.Println(p.Place(), p.Device, p.Lab)
	}
	// Output:
	// 1A01 [1 1 1] 95.5, 0.2, -2.1
	// 1A02 [0 0 0] 4.8, 0.1, -0.4
}

func ExampleNewTarget() {
	target, err := chart.NewTarget(context.Background(), chart.TargetOptions{Name: "pearl", Patches: 900, Page: "letter"})
	if err != nil {
		fmt.Println(err)
		return
	}
	l := target.Layout
	fmt.Printf("%d patches, %d rows of %d on each of %d pages of %d x %d pixels\n", len(target.Patches), l.Rows, l.Cols, l.Pages, l.W, l.H)
	// Output:
	// 900 patches, 25 rows of 22 on each of 2 pages of 2550 x 3300 pixels
}
