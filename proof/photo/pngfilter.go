package photo

// unfilter undoes the filter of a row. above is the row before, zeros before the first;
// size is the bytes of a pixel.
//
// Source: PNG (W3C, third edition), 9.
func unfilter(filter byte, row, above []byte, size int) error {
	above = above[:len(row)]
	switch filter {
	case 0:
	case 1:
		for i := size; i < len(row); i++ {
			row[i] += row[i-size]
		}
	case 2:
		for i, v := range above {
			row[i] += v
		}
	case 3:
		for i := range min(size, len(row)) {
			row[i] += above[i] / 2
		}
		for i := size; i < len(row); i++ {
			row[i] += byte((int(row[i-size]) + int(above[i])) / 2)
		}
	case 4:
		for c := 0; c < size; {
			if size-c >= 3 {
				unpaeth3(row, above, c, size)
				c += 3
			} else {
				unpaeth(row, above, c, size)
				c++
			}
		}
	default:
		return damaged("PNG: filter %d", filter)
	}
	return nil
}

// unpaeth undoes the filter of Paeth for the bytes first, first + size and so on.
func unpaeth(row, above []byte, first, size int) {
	var left, corner int
	for i := first; i < len(row); i += size {
		up := int(above[i])
		left = int(row[i] + paeth(left, up, corner))
		row[i], corner = byte(left), up
	}
}

// unpaeth3 does so for three bytes of each pixel at a time, whose chains of sums the processor
// then follows side by side.
func unpaeth3(row, above []byte, first, size int) {
	var left0, left1, left2, corner0, corner1, corner2 int
	for i := first; i+2 < len(row); i += size {
		v, u := row[i:i+3:i+3], above[i:i+3:i+3]
		up0, up1, up2 := int(u[0]), int(u[1]), int(u[2])
		left0 = int(v[0] + paeth(left0, up0, corner0))
		left1 = int(v[1] + paeth(left1, up1, corner1))
		left2 = int(v[2] + paeth(left2, up2, corner2))
		v[0], v[1], v[2] = byte(left0), byte(left1), byte(left2)
		corner0, corner1, corner2 = up0, up1, up2
	}
}

// paeth returns the neighbour nearest to left + above - corner, of equally near ones the first
// named (PNG 9.4). That is the smaller or the larger of left and above where corner lies beyond
// a third of the way to the other, and corner itself between: no distance is computed, and
// nothing is branched on.
func paeth(left, above, corner int) byte {
	low, high := min(left, above), max(left, above)
	turn := 3*corner - above - left
	near := corner
	if turn >= high {
		near = low
	}
	if turn <= low {
		near = high
	}
	return byte(near)
}
