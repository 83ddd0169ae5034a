package view

import (
	"cmp"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// kind is a kind of file that is looked for. Pictures and profiles lie in different
// places: for each kind the folder is kept in which the last one was found.
type kind struct {
	id      string // the folder is kept under it, from one start to the next too
	title   string
	endings []string // in small letters; nil for folders
}

var (
	pictureFiles  = kind{"pictures", "Choose a picture: JPEG, PNG, TIFF, WebP, HEIC or AVIF", []string{".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".hif", ".avif"}}
	profileFiles  = kind{"profiles", "Choose a profile: .icc or .icm", []string{".icc", ".icm"}}
	ticketFiles   = kind{"prints", "Choose a job ticket: .ticket.json", []string{".json"}}
	measuredKind  = kind{"measurements", "Choose measurements: CGATS.17 text", []string{".txt", ".cgats", ".cgt", ".cie", ".ti3", ".it8"}}
	readingFiles  = kind{"measurements", "Choose readings: CGATS.17 text or a table", append(slices.Clone(measuredKind.endings), ".csv")}
	printFolder   = kind{"prints", "Choose a folder", nil}
	chartFolder   = kind{"measurements", "Choose a folder for the chart", nil}
	pictureFolder = kind{"pictures", "Choose a folder of pictures", nil}
)

func (k kind) takes(name string) bool {
	return slices.Contains(k.endings, strings.ToLower(filepath.Ext(name)))
}

// folder is where files of this kind were last found, "" for nowhere yet.
func (k kind) folder() string {
	return fyne.CurrentApp().Preferences().String("folder of " + k.id)
}

func (k kind) keepFolder(dir string) {
	fyne.CurrentApp().Preferences().SetString("folder of "+k.id, dir)
}

// chooser is the open dialog that finds a file or a folder: by a path that is typed,
// pasted or dropped, or in the list of the folder that it shows.
type chooser struct {
	kind
	h       *Host
	verb    string
	use     func(path string)
	d       *dialog.CustomDialog
	reading *lane
	work    *work
	dir     string // the folder shown
	asked   string // the one that was asked for last
	entries []entry

	path  *field
	up    *widget.Press
	shown *widget.Prose // which folder the list is of
	list  *widget.List
	note  *widget.Prose
}

// entry is a file or a folder of the list.
type entry struct {
	name   string
	folder bool
	size   int64
	time   time.Time
}

// askFile looks for a file.
func askFile(h *Host, k kind, verb string, use func(path string)) {
	from := k.folder()
	if k.id == pictureFiles.id {
		from = cmp.Or(folderOf(h.State().Picture.Path), from)
	}
	openChooser(h, k, verb, from, use)
}

// askFolder looks for a folder, first of all at one.
func askFolder(h *Host, k kind, verb, at string, use func(dir string)) {
	openChooser(h, k, verb, cmp.Or(at, k.folder()), use)
}

func openChooser(h *Host, k kind, verb, from string, use func(path string)) {
	c := &chooser{kind: k, h: h, verb: verb, use: use, work: h.newWork()}
	c.reading = c.work.lane()
	c.build()
	c.d.Show()
	c.lookAt(nearestFolder(from), "")
	focusField(h, c.path, true)
}

// folderOf is the folder of a file, "" for none.
func folderOf(path string) string {
	if path == "" {
		return ""
	}
	return filepath.Dir(path)
}

// nearestFolder returns the folder, or the nearest one above it that is there, or the
// person's own.
func nearestFolder(dir string) string {
	for dir != "" && filepath.IsAbs(dir) {
		if isFolder(dir) {
			return dir
		}
		if up := filepath.Dir(dir); up != dir {
			dir = up
			continue
		}
		break
	}
	return home()
}

func home() string {
	if dir, err := os.UserHomeDir(); err == nil && isFolder(dir) {
		return dir
	}
	return string(filepath.Separator)
}

func (c *chooser) build() {
	c.path = newField("", func(string) { c.say("") }, func(string) { c.typed() }, func() { c.d.Hide() })
	c.path.onKey = func(e *fyne.KeyEvent) bool {
		if e.Name == fyne.KeyDown || e.Name == fyne.KeyPageDown {
			c.h.Window.Canvas().Focus(c.list)
			if c.list.At() < 0 {
				c.list.Step(1)
			}
			return true
		}
		return false
	}
	c.list = widget.NewList(func(i int) { c.take(i) })
	c.list.Twice, c.list.Seek = true, true
	c.list.OnMove = func(i int) { c.path.put(c.pathOf(i)) }
	c.up = widget.NewPress("Folder above", func() { c.goUp() })
	c.shown = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	c.note = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 2)
	name := "File"
	if c.endings == nil {
		name = "Folder"
	}
	label := widget.NewText(name, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	body := container.New(freeLayout{fyne.NewSize(620, 320), func(s fyne.Size) {
		set(label, 0, 8, 60, 22)
		set(c.path, 64, 0, s.Width-64, 38)
		set(c.up, 0, 46, 130, 30)
		set(c.shown, 142, 52, s.Width-142, 34)
		set(c.list, 0, 84, s.Width, s.Height-84-46)
		set(c.note, 0, s.Height-42, s.Width, 42)
	}}, label, c.path, c.up, c.shown, c.list, c.note)
	c.d = dialog.NewCustomWithoutButtons(c.title, body, c.h.Window)
	c.d.SetButtons([]fyne.CanvasObject{
		widget.NewPress("Leave it", func() { c.d.Hide() }),
		widget.NewPress(c.verb, func() { c.typed() }),
	})
	s := c.h.Window.Canvas().Size()
	c.d.Resize(fyne.NewSize(min(s.Width-40, 900), min(s.Height-40, 640)))
	c.h.front(c.d, front{drop: c.dropped, closed: c.work.close, key: func(e *fyne.KeyEvent) bool {
		up := e.Name == fyne.KeyBackspace || e.Name == fyne.KeyLeft
		if up {
			c.goUp()
		}
		return up
	}})
}

func (c *chooser) say(s string) {
	if s == "" {
		s = c.counted()
	}
	c.note.SetText(s)
}

// counted says what of the folder is in the list.
func (c *chooser) counted() string {
	files := 0
	for _, e := range c.entries {
		if !e.folder {
			files++
		}
	}
	const paste = "A path can also be pasted or dropped."
	switch {
	case c.dir == "":
		return "The folder is being read …"
	case c.endings == nil:
		return paste
	case files == 0:
		return "No file of this kind lies in this folder. " + paste
	case files == 1:
		return "One file of this kind. " + paste
	}
	return fmt.Sprintf("%d files of this kind; letters in the list go to the next that begins so. %s", files, paste)
}

// lookAt shows a folder, its entry of a name chosen.
func (c *chooser) lookAt(dir, name string) {
	// At once: what is typed while the folder is being read stays.
	text := withSeparator(dir)
	switch {
	case dir == drivesPlace:
		text = name
	case name != "":
		text = filepath.Join(dir, name)
	}
	c.path.put(text)
	c.asked = dir
	c.reading.start(func(job) func() {
		entries, err := c.read(dir)
		return func() {
			if err != nil {
				c.note.SetText(placeTold(dir, err))
				return
			}
			c.dir, c.entries = dir, entries
			c.show(name)
		}
	})
}

// read lists a folder: folders first, then the files of the kind, each by name.
func (c *chooser) read(dir string) ([]entry, error) {
	var list []entry
	if dir == drivesPlace {
		for _, d := range drives() {
			list = append(list, entry{name: d, folder: true})
		}
		return list, nil
	}
	all, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	for _, f := range all {
		if strings.HasPrefix(f.Name(), ".") {
			continue
		}
		info, err := os.Stat(filepath.Join(dir, f.Name())) // of what a link leads to
		if err != nil || !info.IsDir() && !c.takes(f.Name()) {
			continue
		}
		list = append(list, entry{f.Name(), info.IsDir(), info.Size(), info.ModTime()})
	}
	slices.SortFunc(list, func(a, b entry) int {
		if a.folder != b.folder {
			return cmp.Compare(btoi(b.folder), btoi(a.folder))
		}
		return cmp.Or(cmp.Compare(strings.ToLower(a.name), strings.ToLower(b.name)), cmp.Compare(a.name, b.name))
	})
	return list, nil
}

// show brings the list to the folder that was read.
func (c *chooser) show(name string) {
	var items []widget.Item
	at := -1
	for i, e := range c.entries {
		it := widget.Item{Text: e.name, Folder: e.folder}
		if !e.folder {
			it.Note = fmt.Sprintf("%s   %s", sizeTold(e.size), e.time.Format("2 Jan 2006"))
		}
		if e.name == name {
			at = i
		}
		items = append(items, it)
	}
	c.shown.SetText("The list shows " + c.dir)
	c.up.SetOff(above(c.dir) == c.dir)
	c.list.SetItems(items, at)
	c.say("")
}

func withSeparator(dir string) string {
	return strings.TrimSuffix(dir, string(filepath.Separator)) + string(filepath.Separator)
}

// sizeTold is a file's size in words.
func sizeTold(n int64) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d bytes", n)
	case n < 1000*1000:
		return fmt.Sprintf("%d KB", (n+500)/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}

// drivesPlace is what is shown above the drives, on systems that have them.
const drivesPlace = "this computer"

// above is the folder above one, itself at the top.
func above(dir string) string {
	up := filepath.Dir(dir)
	if dir == drivesPlace || up == dir && len(drives()) > 0 {
		return drivesPlace
	}
	return up
}

// pathOf is the path of an entry; a drive is one itself.
func (c *chooser) pathOf(i int) string {
	name := c.entries[i].name
	if c.dir == drivesPlace {
		return name
	}
	return filepath.Join(c.dir, name)
}

func (c *chooser) goUp() {
	if up := above(c.asked); up != c.asked {
		name := filepath.Base(c.asked)
		if up == drivesPlace {
			name = withSeparator(c.asked)
		}
		c.lookAt(up, name)
		c.h.Window.Canvas().Focus(c.list)
	}
}

// take takes an entry of the list: a folder is shown, a file used.
func (c *chooser) take(i int) {
	path := c.pathOf(i)
	if c.entries[i].folder {
		c.lookAt(path, "")
		return
	}
	c.done(path)
}

// typed takes what stands in the field.
func (c *chooser) typed() {
	path := typedPath(c.path.Text)
	if path != "" && !filepath.IsAbs(path) {
		path = filepath.Join(c.asked, path)
	}
	info, err := os.Stat(path)
	switch {
	case path == "":
		c.note.SetText("Type or paste a path, or choose in the list.")
	case err != nil:
		c.note.SetText(placeTold(path, err))
	case c.endings == nil && !info.IsDir():
		c.note.SetText("‘" + filepath.Base(path) + "’ is a file; a folder is wanted here.")
	case c.endings == nil:
		c.done(path)
	case info.IsDir() && filepath.Clean(path) == filepath.Clean(c.dir):
		c.note.SetText("Choose a file of this folder: ↓ goes to the list.")
	case info.IsDir():
		c.lookAt(filepath.Clean(path), "")
	default:
		c.done(path)
	}
}

// typedPath cleans what was typed or pasted: quotes round it, an address of the kind that
// programs copy for a file, and ~ for the person's own folder.
func typedPath(s string) string {
	s = strings.TrimSpace(s)
	if line, _, more := strings.Cut(s, "\n"); more {
		s = strings.TrimSpace(line)
	}
	for _, q := range []string{`"`, `'`} {
		if len(s) > 1 && strings.HasPrefix(s, q) && strings.HasSuffix(s, q) {
			s = s[1 : len(s)-1]
		}
	}
	if strings.HasPrefix(s, "file://") {
		if u, err := url.Parse(s); err == nil {
			s = u.Path
			if len(s) > 1 && filepath.VolumeName(s[1:]) != "" {
				s = s[1:] // of a system that has drives
			}
		}
	}
	if s == "~" || strings.HasPrefix(s, "~/") {
		s = home() + s[1:]
	}
	return s
}

func (c *chooser) done(path string) {
	dir := path
	if c.endings != nil {
		dir = filepath.Dir(path)
	}
	c.keepFolder(dir)
	c.d.Hide()
	c.use(path)
}

// dropped takes a path that was dropped on the window while the dialog is open.
func (c *chooser) dropped(paths []string) {
	if len(paths) == 0 {
		return
	}
	switch path := paths[0]; {
	case isFolder(path):
		c.lookAt(path, "")
	case c.endings == nil:
		c.lookAt(filepath.Dir(path), "")
	default:
		c.lookAt(filepath.Dir(path), filepath.Base(path))
	}
}
