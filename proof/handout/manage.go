package handout

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Manage gives a PDF as the library writes it a meaning for its RGB numbers: an
// update section at the end (ISO 32000-1, 7.5.6) adds the profile, repeats the
// resources with a default RGB space and the catalogue with an output intent.
// The pages before it stay as they are, byte for byte.
func Manage(pdf, profile []byte, name string) ([]byte, error) {
	resources, err := object(pdf, "\n2 0 obj\n<<\n")
	if err != nil {
		return nil, err
	}
	const spaces = "/ColorSpace <<" // the library's empty list of spot colours
	if !bytes.Contains(resources, []byte(spaces)) {
		return nil, errors.New("the page file has no list of colour spaces")
	}
	trailer := bytes.LastIndex(pdf, []byte("\ntrailer\n<<"))
	if trailer < 0 {
		return nil, errors.New("the page file has no trailer")
	}
	size, err := entry(pdf[trailer:], "/Size ")
	if err != nil {
		return nil, err
	}
	root, err := entry(pdf[trailer:], "/Root ")
	if err != nil {
		return nil, err
	}
	info, err := entry(pdf[trailer:], "/Info ")
	if err != nil {
		return nil, err
	}
	before, err := entry(pdf[trailer:], "startxref\n")
	if err != nil {
		return nil, err
	}
	catalogue, err := object(pdf, fmt.Sprintf("\n%d 0 obj\n<<\n", root))
	if err != nil {
		return nil, err
	}

	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	if _, err := z.Write(profile); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}

	out := bytes.NewBuffer(bytes.Clone(pdf))
	if !bytes.HasSuffix(pdf, []byte("\n")) {
		out.WriteByte('\n')
	}
	offsets := map[int]int{}
	begin := func(n int) {
		offsets[n] = out.Len()
		fmt.Fprintf(out, "%d 0 obj\n", n)
	}
	begin(2)
	fmt.Fprintf(out, "<<\n%s>>\nendobj\n", bytes.Replace(resources, []byte(spaces), fmt.Appendf(nil, "%s\n/DefaultRGB [/ICCBased %d 0 R]", spaces, size), 1))
	begin(root)
	// Version: profiles of version 4 are allowed from PDF 1.5 and 1.7 on.
	fmt.Fprintf(out, "<<\n/Version /1.7\n/OutputIntents [<< /Type /OutputIntent /S /GTS_PDFA1 /OutputConditionIdentifier (%s) /RegistryName () /Info (%s) /DestOutputProfile %d 0 R >>]\n%s>>\nendobj\n",
		ascii(name), ascii(name), size, catalogue)
	begin(size)
	fmt.Fprintf(out, "<< /N 3 /Alternate /DeviceRGB /Filter /FlateDecode /Length %d >>\nstream\n", packed.Len())
	out.Write(packed.Bytes())
	out.WriteString("\nendstream\nendobj\n")

	table := out.Len()
	out.WriteString("xref\n")
	for _, n := range []int{2, root, size} {
		fmt.Fprintf(out, "%d 1\n%010d 00000 n \n", n, offsets[n])
	}
	fmt.Fprintf(out, "trailer\n<<\n/Size %d\n/Root %d 0 R\n/Info %d 0 R\n/Prev %d\n>>\nstartxref\n%d\n%%%%EOF\n", size+1, root, info, before, table)
	return out.Bytes(), nil
}

// object returns the entries of the dictionary that is the last object with the
// given beginning.
func object(pdf []byte, begin string) ([]byte, error) {
	at := bytes.LastIndex(pdf, []byte(begin))
	if at < 0 {
		return nil, fmt.Errorf("the page file has no object %q", strings.TrimSpace(begin))
	}
	rest := pdf[at+len(begin):]
	end := bytes.Index(rest, []byte(">>\nendobj"))
	if end < 0 {
		return nil, fmt.Errorf("object %q of the page file has no end", strings.TrimSpace(begin))
	}
	return rest[:end], nil
}

// entry returns the number that follows a key.
func entry(part []byte, key string) (int, error) {
	at := bytes.Index(part, []byte(key))
	if at < 0 {
		return 0, fmt.Errorf("the trailer of the page file has no %q", strings.TrimSpace(key))
	}
	digits := part[at+len(key):]
	n := 0
	for n < len(digits) && digits[n] >= '0' && digits[n] <= '9' {
		n++
	}
	return strconv.Atoi(string(digits[:n]))
}

// ascii returns a name as it may stand in a PDF string.
func ascii(s string) string {
	if s == "" {
		s = "RGB"
	}
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' || r == '(' || r == ')' || r == '\\' {
			return '-'
		}
		return r
	}, s)
}
