package scenarios

import (
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

//go:embed quiz.toml
var quizFile []byte

// quizTexts is quiz.toml.
type quizTexts struct {
	Head, Wait, Left, Right, Wrong, Together, Over, Debrief, Total, Points, Most, Missed, Expected, None string

	TimeUp  string `toml:"time_up"`
	NotSaid string `toml:"not_said"`

	Row []struct {
		Name  string
		Meter []struct {
			Key  reading.Key
			Text string
		}
	}
}

var quizWords = sync.OnceValue(func() quizTexts { return datafile.Read[quizTexts]("scenarios/quiz.toml", quizFile) })

// QuizTime is how long a case of a quiz may be looked at and answered.
const QuizTime = time.Minute

// A Quiz is a sheet that one person plays: a minute for each case, with the six standing
// questions, and after it what was right. Its clock is handed in. It is not safe for use by
// several goroutines.
type Quiz struct {
	sheet *Sheet
	who   string
	begun int           // cases that were begun
	until time.Time     // of the case under way; zero between two cases
	asked [][]*question // of each case that was begun
}

// NewQuiz makes a quiz of who of a sheet; one without a case is an error.
func NewQuiz(s *Sheet, who string) (*Quiz, error) {
	if len(s.Cases) == 0 {
		return nil, fmt.Errorf(quizWords().None, s.Level, s.Seed)
	}
	return &Quiz{sheet: s, who: who}, nil
}

// Ended reports whether all cases are played.
func (q *Quiz) Ended() bool { return q.begun == len(q.sheet.Cases) && q.until.IsZero() }

// UnderWay reports whether a case is to be answered now.
func (q *Quiz) UnderWay() bool { return !q.until.IsZero() }

// Overdue reports whether the minute of the case under way is over.
func (q *Quiz) Overdue(now time.Time) bool { return q.UnderWay() && now.After(q.until) }

// Left says how long the case under way may still be answered, "" between two cases.
func (q *Quiz) Left(now time.Time) string {
	if !q.UnderWay() {
		return ""
	}
	return fmt.Sprintf(quizWords().Left, max(0, q.until.Sub(now).Seconds()))
}

// Do does what was typed at now: between two cases anything begins the next one, else it is
// the number of an answer. An answer that comes too late closes the case. It says what there
// is to say; an error says what was expected, and changes nothing.
func (q *Quiz) Do(typed string, now time.Time) ([]string, error) {
	t := quizWords()
	switch {
	case q.Ended():
		return []string{t.Over}, nil
	case !q.UnderWay():
		c := q.sheet.Cases[q.begun]
		var list []*question
		for _, s := range standingQuestions() {
			list = append(list, askStanding(&s, c.right[s.ID]))
		}
		q.asked = append(q.asked, list)
		q.begun++
		q.until = now.Add(QuizTime)
		return nil, nil
	case q.Overdue(now):
		return append([]string{t.TimeUp}, q.close()...), nil
	}
	open := q.open()
	n, err := strconv.Atoi(strings.TrimSpace(plaintext.Clean(typed)))
	if err != nil || n < 1 || n > len(open.choices) {
		return nil, fmt.Errorf("%w: "+t.Expected, errUnknown, typed, len(open.choices))
	}
	if open.answer = n - 1; q.open() != nil {
		return nil, nil
	}
	return q.close(), nil
}

// open is the question that waits for its answer, nil for none.
func (q *Quiz) open() *question {
	if !q.UnderWay() {
		return nil
	}
	for _, x := range q.asked[q.begun-1] {
		if x.answer < 0 {
			return x
		}
	}
	return nil
}

// Question is what is asked now and what can be answered; between two cases what comes next.
func (q *Quiz) Question() (asks string, choices []string) {
	if x := q.open(); x != nil {
		return x.title, x.choices
	}
	if q.Ended() {
		return quizWords().Over, nil
	}
	return fmt.Sprintf(quizWords().Wait, q.begun+1, len(q.sheet.Cases)), nil
}

// present is the case begun last.
func (q *Quiz) present() *SheetCase { return q.sheet.Cases[q.begun-1] }

// Head names the case that was begun last, "" before the first.
func (q *Quiz) Head() string {
	if q.begun == 0 {
		return ""
	}
	return fmt.Sprintf(quizWords().Head, q.begun, len(q.sheet.Cases), plaintext.Clean(q.present().Scenario.Site.Name))
}

// Case is what the case under way shows: what the meters show by place, what is seen, what
// people say.
func (q *Quiz) Case() (lines []string) {
	if !q.UnderWay() {
		return nil
	}
	c := q.present()
	s := c.Scenario.Site
	lines = append(lines, fmt.Sprintf(sheetWords().Site, s.NominalV, s.Battery.Chemistry, s.Controller.Kind))
	for _, row := range quizWords().Row {
		var list []string
		for _, m := range row.Meter {
			if text := c.showed(m.Key); text != "" {
				list = append(list, fmt.Sprintf(m.Text, text))
			}
		}
		if list != nil {
			lines = append(lines, fmt.Sprintf("%-8s %s", row.Name+":", strings.Join(list, ", ")))
		}
	}
	story := c.story()
	slices.Reverse(story) // what is switched on first: a small screen cuts the end
	return append(append(lines, c.seen()...), story...)
}

// showed is the display of a meter, "" where it was not read.
func (c *SheetCase) showed(k reading.Key) string {
	i := slices.IndexFunc(c.shown, func(r sheetReading) bool { return r.key == k })
	if i < 0 {
		return ""
	}
	return c.shown[i].text
}

// Site is that of the case begun last, with the looks of its indicators by their labels,
// nil before the first.
func (q *Quiz) Site() (s *site.Site, looks map[string]string) {
	if q.begun == 0 {
		return nil, nil
	}
	c := q.present()
	looks = map[string]string{}
	for _, l := range c.Scenario.Site.Controller.Lamps {
		looks[l.Label] = c.set.Words[reading.Lamp(l.Label)]
	}
	return c.Scenario.Site, looks
}

// close ends the case under way and says what was right.
func (q *Quiz) close() []string {
	t, c := quizWords(), q.present()
	q.until = time.Time{}
	good := 0
	var wrong []string
	for _, x := range q.asked[q.begun-1] {
		if x.good() {
			good++
			continue
		}
		said := t.NotSaid
		if x.answer >= 0 {
			said = x.choices[x.answer]
		}
		wrong = append(wrong, fmt.Sprintf(t.Wrong, x.title, said, x.standing.answerText(c.right[x.standing.ID])))
	}
	lines := append([]string{fmt.Sprintf(t.Right, good, len(q.asked[q.begun-1]), titles(c.Scenario.Truth()))}, wrong...)
	if told := c.together(); told != "" {
		lines = append(lines, fmt.Sprintf(t.Together, told))
	}
	return lines
}

// worth is what an answer is worth: 1 for the most that can be had, 0 for "cannot tell",
// which is also what was not answered. It is the quadratic score moved and stretched, and so
// still proper.
func (q *question) worth() float64 {
	none := q.points[len(q.points)-1]
	if q.answer < 0 {
		return 0
	}
	return (q.points[q.answer] - none) / (slices.Max(q.points) - none)
}

// Result is the quiz's, once it has ended, at the time at.
func (q *Quiz) Result(at time.Time) (practicelog.Result, bool) {
	if !q.Ended() {
		return practicelog.Result{}, false
	}
	r := practicelog.Result{
		Who: q.who, At: at, Mode: practicelog.Quiz, Scenario: q.sheet.Name(), Level: q.sheet.Level,
		Truth: []condition.ID{}, Named: []condition.ID{}, Breaches: []string{},
	}
	sum := 0.0
	for _, list := range q.asked {
		for _, x := range list {
			r.Answers++
			sum += x.worth()
			if !x.good() {
				r.Missed = append(r.Missed, x.standing.ID)
			}
		}
	}
	r.Right = len(r.Missed) == 0
	r.Score.Findings = 100 * max(0, sum/float64(r.Answers))
	r.Score.Total = r.Score.Findings
	return r, true
}

// Debrief is how the quiz went, nil before its end.
func (q *Quiz) Debrief(int) []string {
	r, ended := q.Result(time.Time{})
	if !ended {
		return nil
	}
	t := quizWords()
	lines := []string{"", fmt.Sprintf(t.Debrief, q.sheet.Name()), fmt.Sprintf(t.Total, r.Answers-len(r.Missed), r.Answers, r.Score.Total), t.Points}
	return append(lines, missedMost([]practicelog.Result{r}, t.Most, t.Missed)...)
}

// missedMost says which standing questions were most often not answered right, in line, each
// in a form of its title, how often and of how many; nothing where all were.
func missedMost(list []practicelog.Result, line, form string) []string {
	all := standingQuestions()
	missed, rounds := map[string]int{}, 0
	for _, r := range list {
		rounds += r.Answers / len(all)
		for _, id := range r.Missed {
			missed[id]++
		}
	}
	all = slices.DeleteFunc(slices.Clone(all), func(q standingQuestion) bool { return missed[q.ID] == 0 })
	slices.SortStableFunc(all, func(a, b standingQuestion) int { return missed[b.ID] - missed[a.ID] })
	var texts []string
	for _, x := range all[:min(len(all), mostWrongShown)] {
		texts = append(texts, fmt.Sprintf(form, x.Ask, missed[x.ID], rounds))
	}
	if texts == nil {
		return nil
	}
	return []string{fmt.Sprintf(line, strings.Join(texts, "; "))}
}
