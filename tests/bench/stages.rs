//! One layout in one process: every stage timed apart, and the most memory the
//! process held.

use std::io::{self, Write};
use std::time::Instant;

use kingpost::check::{check, geometry, lints, loads};
use kingpost::present::document::html::render_html;
use kingpost::present::figure::{self, Telling, draw};
use kingpost::present::report::{Report, report};
use kingpost::present::results::{Answer, write_json};
use kingpost::statics::flexibility::flexibilities;
use kingpost::statics::residual::{Forces, moment_centre, residual};
use kingpost::statics::{Equilibrium, SolveError, Subject, find_verdict, solve, spans};
use kingpost::structure::{Lowered, lower, read_project};

use crate::layouts::{self, Bracing, Faults, Layout};
use crate::peer;

/// What is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Girder,
    Loops,
    Sheet,
    Tree,
    Extra,
    Open,
    Storeys,
}

impl Kind {
    pub const ALL: [Kind; 7] =
        [Kind::Girder, Kind::Loops, Kind::Sheet, Kind::Tree, Kind::Extra, Kind::Open, Kind::Storeys];

    pub const fn word(self) -> &'static str {
        match self {
            Kind::Girder => "girder",
            Kind::Loops => "loops",
            Kind::Sheet => "sheet",
            Kind::Tree => "tree",
            Kind::Extra => "extra",
            Kind::Open => "open",
            Kind::Storeys => "storeys",
        }
    }

    pub fn from_word(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }

    pub fn layout(self, bars: usize) -> Layout {
        match self {
            Kind::Girder => layouts::girder(bars, Faults::NONE, 1),
            Kind::Loops => layouts::girder_in_loops(bars),
            Kind::Sheet => layouts::sheet(bars, Bracing::Edges, Faults::NONE, 1),
            Kind::Tree => layouts::sheet(bars, Bracing::Tree, Faults::NONE, 1),
            Kind::Extra => layouts::sheet(bars, Bracing::Tree, Faults { removed: 0, added: 1 }, 1),
            Kind::Open => layouts::sheet(bars, Bracing::Tree, Faults { removed: 1, added: 0 }, 1),
            Kind::Storeys => layouts::storeys(bars),
        }
    }
}

/// Seconds of each stage; zero where a stage does not apply.
#[derive(Clone, Debug, Default)]
pub struct Times {
    pub bars: usize,
    pub bytes: usize,
    pub read: f64,
    pub lower: f64,
    pub verdict: f64,
    pub check: f64,
    pub solve: f64,
    pub residual: f64,
    pub write: f64,
}

/// Runs the stages one after another. The exported matrix is for the peer.
pub fn stages(kind: Kind, bars: usize, export: Option<&std::path::Path>) -> Times {
    let layout = kind.layout(bars);
    let mut times = Times { bars: layout.bars, bytes: layout.text.len(), ..Times::default() };
    let project = timed(&mut times.read, || read_project("bench.kp", layout.text, &mut |_| unreachable!()));
    assert!(project.errors.iter().all(|(_, errors)| errors.is_empty()), "the text is read without a fault");
    let Lowered { structure, faults, .. } = timed(&mut times.lower, || lower(&project));
    assert!(faults.is_empty(), "the text states a structure: {:?}", faults.first());
    let (equilibrium, verdict) = timed(&mut times.verdict, || {
        let equilibrium = Equilibrium::of(&structure);
        let verdict = find_verdict(&structure, &equilibrium).expect("a verdict");
        (equilibrium, verdict)
    });
    timed(&mut times.check, || {
        let mut found = geometry::check_geometry(&structure, equilibrium.points());
        found.extend(loads::check_loads(&structure));
        found.extend(lints::check_lints(&structure));
        found
    });
    if verdict.mechanisms > 0 {
        return times;
    }
    let solution = match timed(&mut times.solve, || solve(&structure, &equilibrium, &verdict)) {
        Ok(solution) => solution,
        // Beyond what doubles can tell, forces are refused: the time to say so counts.
        Err(SolveError::TooSensitive { .. }) => return times,
        Err(error) => panic!("no forces: {error:?}"),
    };
    let result = solution.results.first().expect("one case");
    timed(&mut times.residual, || {
        let case = kingpost::base::CaseId::new(0);
        let (_, centre) = moment_centre(&structure);
        let actions = spans::actions(&structure, &equilibrium.rows, case);
        let forces = Forces {
            direct: &actions.direct,
            rows: &equilibrium.rows,
            spans: &actions.spans,
            resultant: spans::resultant(&structure, case, centre).0,
            reactions: &result.reactions,
            axial: &result.axial,
            moments: &result.moments,
            largest: result.largest,
        };
        let left = residual(&structure, forces);
        assert!(left.is_small(), "the forces balance: {left:?}");
    });
    let mut sink = Counter::default();
    timed(&mut times.write, || {
        let answer = Answer {
            file: "bench.kp",
            structure: &structure,
            verdict: Some(&verdict),
            results: &solution.results,
            travels: &[],
        };
        write_json(&mut sink, &answer, &|_| true).expect("a sink never fails");
    });
    if let Some(path) = export {
        let actions = spans::actions(&structure, &equilibrium.rows, kingpost::base::CaseId::new(0));
        let right = actions.on_joints(&structure, &equilibrium.rows);
        let matrix = equilibrium.floating().expect("a matrix");
        let flexibility = (verdict.redundancy > 0).then(|| flexibilities(&structure, &equilibrium));
        peer::export(path, &matrix, flexibility.as_ref(), &right).expect("a matrix on disk");
    }
    times
}

/// Text to JSON as the program does it; seconds and bytes written.
pub fn whole(kind: Kind, bars: usize) -> (f64, usize) {
    let layout = kind.layout(bars);
    let mut sink = Counter::default();
    let mut seconds = 0.0;
    timed(&mut seconds, || {
        let project = read_project("bench.kp", layout.text, &mut |_| unreachable!());
        let checked = check(&project);
        let answer = Answer::of("bench.kp", &checked, &[]);
        write_json(&mut sink, &answer, &|_| true).expect("a sink never fails");
        let expected = match kind {
            Kind::Open => checked.solution.is_none(),
            // Redundant and very large: its condition may be beyond what is quoted.
            Kind::Extra => true,
            _ => checked.solution.is_some(),
        };
        assert!(expected, "{:?}", checked.diagnostics.first());
    });
    (seconds, sink.0)
}

/// Text to the figure of the loads as SVG, and to a report as HTML: seconds of each.
pub fn pages(kind: Kind, bars: usize) -> [f64; 2] {
    let text = kind.layout(bars).text;
    let read = || read_project("bench.kp", text.clone(), &mut |_| unreachable!());
    let mut seconds = [0.0; 2];
    let subject = Subject::Case(kingpost::base::CaseId::new(0));
    let svg =
        timed(&mut seconds[0], || draw(&check(&read()), figure::Kind::Structure, Some(subject)).map(|it| it.svg()));
    let page = timed(&mut seconds[1], || {
        let project = read();
        let checked = check(&project);
        let asked = Report { project: &project, checked: &checked, only: &[], date: None, figures: Telling::Drawn };
        render_html(&report(&asked))
    });
    assert!(svg.is_ok_and(|svg| svg.len() > bars) && page.len() > bars, "both show the structure");
    seconds
}

fn timed<T>(seconds: &mut f64, work: impl FnOnce() -> T) -> T {
    let (start, busy) = (Instant::now(), processor_time());
    let value = work();
    let elapsed = start.elapsed().as_secs_f64();
    *seconds = match (busy, processor_time()) {
        (Some(before), Some(after)) if elapsed > LONG => elapsed.min(after - before),
        _ => elapsed,
    };
    value
}

/// Beyond so many seconds the processor's own account is fine enough, and a
/// busy machine does not show in it.
const LONG: f64 = 0.05;

/// Seconds this thread has run, where the system tells.
fn processor_time() -> Option<f64> {
    let account = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    account.split_whitespace().next()?.parse::<f64>().ok().map(|nanoseconds| nanoseconds / 1e9)
}

/// Takes bytes and counts them.
#[derive(Default)]
struct Counter(usize);

impl Write for Counter {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0 += bytes.len();
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// The most memory this process held, in bytes, where the system tells.
pub fn peak_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse::<u64>().ok().map(|kib| kib * 1024)
}
