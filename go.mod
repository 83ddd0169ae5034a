module firstsheet

go 1.26.8

require (
	fyne.io/fyne/v2 v2.7.1 // indirect
	github.com/disintegration/imaging v1.6.2 // indirect
	github.com/fsnotify/fsnotify v1.10.1 // indirect
	github.com/go-pdf/fpdf v0.9.0 // indirect
	github.com/jezek/xgb v1.1.1 // indirect
	github.com/kovidgoyal/go-parallel v1.1.1 // indirect
	github.com/kovidgoyal/go-shm v1.0.0 // indirect
	github.com/kovidgoyal/imaging v1.9.0 // indirect
	github.com/rwcarlsen/goexif v0.0.0-20190401172101-9e8deecbddbd // indirect
	golang.org/x/image v0.47.0 // indirect
	golang.org/x/sys v0.49.0 // indirect
	gonum.org/v1/gonum v0.17.0 // indirect
)
