package document

// placed is an atom at its place on a page.
type placed struct {
	atom
	x, y float64
}

func (p placed) draw() { p.atom.draw(p.x, p.y) }

// flow lays the document out on pages. Narrow sections that follow one another
// share two columns of about the same height; a wide one goes over both.
func (l *layout) flow(d Document) [][]placed {
	f := &flowing{layout: l, y: margin}
	f.pages = [][]placed{nil}
	whole := l.paper.W - 2*margin
	f.column(l.titled(d, whole), margin)
	for i := 0; i < len(d.Sections); {
		if l.columns == 1 || d.Sections[i].Wide {
			f.column(l.section(d.Sections[i], whole), margin)
			i++
			continue
		}
		w := (whole - between) / 2
		var atoms []atom
		for ; i < len(d.Sections) && !d.Sections[i].Wide; i++ {
			atoms = append(atoms, l.section(d.Sections[i], w)...)
		}
		f.both(atoms, margin, margin+w+between)
	}
	return f.pages
}

type flowing struct {
	*layout
	pages [][]placed
	y     float64 // where the next atom goes
}

func (f *flowing) bottom() float64 { return f.paper.H - margin - footRoom + 3 }

func (f *flowing) put(a atom, x, y float64) {
	last := len(f.pages) - 1
	f.pages[last] = append(f.pages[last], placed{a, x, y})
}

func (f *flowing) turn() {
	f.pages = append(f.pages, nil)
	f.y = margin
}

// column puts atoms one below the other, over as many pages as it takes.
func (f *flowing) column(atoms []atom, x float64) {
	for len(atoms) > 0 {
		n := fill(atoms, f.bottom()-f.y)
		if n == 0 {
			if f.y == margin {
				n = 1 // taller than a page: it is cut rather than never drawn
			} else {
				f.turn()
				continue
			}
		}
		f.y = f.stack(atoms[:n], x, f.y)
		if atoms = carried(atoms, n); len(atoms) > 0 {
			f.turn()
		}
	}
}

// both puts atoms into two columns, over as many pages as it takes.
func (f *flowing) both(atoms []atom, x1, x2 float64) {
	for len(atoms) > 0 {
		room := f.bottom() - f.y
		if n, ok := balance(atoms, room); ok {
			f.y = max(f.stack(atoms[:n], x1, f.y), f.stack(carried(atoms, n), x2, f.y))
			return
		}
		n := fill(atoms, room)
		if n == 0 && f.y > margin {
			f.turn()
			continue
		}
		n = max(1, n)
		f.stack(atoms[:n], x1, f.y)
		atoms = carried(atoms, n)
		n = fill(atoms, room)
		f.stack(atoms[:n], x2, f.y)
		if atoms = carried(atoms, n); len(atoms) > 0 {
			f.turn()
		}
	}
}

// stack puts atoms below one another and gives where the next would go.
func (f *flowing) stack(atoms []atom, x, y float64) float64 {
	for _, a := range atoms {
		f.put(a, x, y)
		y += a.h
	}
	return y
}

// fill is how many atoms fit into h without parting what is kept together.
func fill(atoms []atom, h float64) int {
	n := 0
	for n < len(atoms) && atoms[n].h <= h {
		h -= atoms[n].h
		n++
	}
	if n == len(atoms) {
		return n
	}
	for n > 0 && atoms[n-1].keep {
		n--
	}
	return n
}

// carried is what goes on in another column after n atoms, a table with its head.
func carried(atoms []atom, n int) []atom {
	rest := atoms[n:]
	if n > 0 && len(rest) > 0 && rest[0].head != nil && !atoms[n-1].heads {
		head := *rest[0].head
		rest = append([]atom{head}, rest...)
	}
	return rest
}

// unevenly is what a break within a section costs, in height [mm]: a little less
// even columns are better than a list in two pieces.
const unevenly = 14

// balance finds where to break atoms for two columns of about the same height,
// neither higher than room.
func balance(atoms []atom, room float64) (n int, ok bool) {
	var total float64
	for _, a := range atoms {
		total += a.h
	}
	best, first := 0.0, 0.0
	for i := 1; i <= len(atoms); i++ {
		first += atoms[i-1].h
		second := total - first
		if i < len(atoms) && atoms[i].head != nil {
			second += atoms[i].head.h
		}
		if atoms[i-1].keep || first > room || second > room {
			continue
		}
		cost := max(first, second)
		if i < len(atoms) && !atoms[i].open {
			cost += unevenly
		}
		if !ok || cost < best {
			n, best, ok = i, cost, true
		}
	}
	return n, ok
}
