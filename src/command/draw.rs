//! `draw`: figures as SVG, PNG or LaTeX files, or one in the terminal.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::base::{FileId, unheeded};
use crate::check::Checked;
use crate::present::figure::{self, Figure, Kind, Refusal};
use crate::present::results::subject_name;
use crate::present::text::one_line;
use crate::statics::Subject;
use crate::structure::Project;

use super::arguments::{DrawArguments, FigureFormat};
use super::read::Reader;
use super::save::{deliver, file_of};
use super::solve::{known_cases, tell};
use super::standard::Standard;
use super::{Exit, Outcome, complain, each_file, ending_of, hint, is_wanted, not_done, style_of_stdout};

pub fn run(arguments: &DrawArguments) -> Outcome {
    let kinds = kinds(&arguments.what)?;
    let reader = Reader::default();
    each_file(&reader, std::slice::from_ref(&arguments.file), &arguments.over, |project, checked| {
        tell(project, checked)?;
        let subjects = subjects(checked, &arguments.cases)?;
        let wanted = wanted(checked, &kinds, &subjects, arguments.cases.is_empty());
        match &arguments.output {
            None => in_terminal(project, checked, &wanted),
            Some(output) => into_files(arguments, output, &reader, project, checked, &wanted),
        }
    })
}

/// The kinds asked for; `all` asks for what can be drawn, the others insist.
#[derive(Debug)]
struct Kinds {
    list: Vec<Kind>,
    insist: Insist,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Insist {
    /// What was named must be drawn.
    OnEach,
    /// `all`: what cannot be drawn is passed over.
    OnNone,
}

fn kinds(words: &[String]) -> Result<Kinds, String> {
    if words.iter().any(|word| word == "all") {
        return Ok(Kinds { list: Kind::ALL.to_vec(), insist: Insist::OnNone });
    }
    let known: Vec<&str> = Kind::ALL.iter().map(|kind| kind.word()).collect();
    let mut list = Vec::new();
    for word in words {
        let found = Kind::ALL.into_iter().find(|kind| kind.word() == word);
        let kind = found.ok_or_else(|| {
            let all = format!("it can be all or {}", known.join(", "));
            format!("there is no figure called {word}; {}", hint(word, known.iter().copied(), &all))
        })?;
        if !list.contains(&kind) {
            list.push(kind);
        }
    }
    Ok(Kinds { list, insist: Insist::OnEach })
}

/// The cases and combinations asked for, or all that have results.
fn subjects(checked: &Checked, named: &[String]) -> Result<Vec<Subject>, String> {
    known_cases(checked, named)?;
    let structure = &checked.structure;
    if let Some(travel) = named
        .iter()
        .find(|name| structure.travels.iter().any(|travel| structure.names.get(travel.name) == name.as_str()))
    {
        return Err(format!("{travel} is a travelling load; figures show cases and combinations"));
    }
    let all = structure.cases.ids().map(Subject::Case).chain(structure.combinations.ids().map(Subject::Combination));
    Ok(all.filter(|subject| is_wanted(named, subject_name(structure, *subject))).collect())
}

/// One figure to be drawn.
struct Wanted {
    kind: Kind,
    subject: Option<Subject>,
    /// Whether its file must say which case it shows.
    named: bool,
    insist: Insist,
}

fn wanted(checked: &Checked, kinds: &Kinds, subjects: &[Subject], unnamed: bool) -> Vec<Wanted> {
    let several = checked.structure.cases.len() + checked.structure.combinations.len() > 1;
    let mut wanted = Vec::new();
    for kind in &kinds.list {
        // The structure of many cases is drawn once, without loads, unless a case is named.
        let once = !kind.is_of_a_case() && !(*kind == Kind::Structure && (!unnamed || !several));
        if once || subjects.is_empty() {
            wanted.push(Wanted { kind: *kind, subject: None, named: false, insist: kinds.insist });
            continue;
        }
        wanted.extend(subjects.iter().map(|subject| Wanted {
            kind: *kind,
            subject: Some(*subject),
            named: subjects.len() > 1,
            insist: kinds.insist,
        }));
    }
    wanted
}

/// Says why a figure is missing, where it was asked for by name. Errors that
/// have been told stand in its way, or it could not be drawn at all.
fn missing(project: &Project, checked: &Checked, wanted: &Wanted, refusal: &Refusal) -> Exit {
    if wanted.insist == Insist::OnNone {
        return Exit::Fine;
    }
    complain(&format!("{}: no {} is drawn: {}", project.files.name(FileId(0)), wanted.kind.title(), refusal.0));
    not_done(checked)
}

/// The structure in letters and dots; everything else needs a file.
fn in_terminal(project: &Project, checked: &Checked, wanted: &[Wanted]) -> Outcome {
    let mut out = Standard::Output;
    let structure = &checked.structure;
    if structure.members.is_empty() {
        complain(&format!("{}: there are no members to draw", project.files.name(FileId(0))));
        return Ok(not_done(checked));
    }
    if let Some(one) = wanted.iter().find(|one| one.kind != Kind::Structure) {
        complain(&match one.insist {
            Insist::OnEach => {
                format!("the {} needs an output file, such as `-o {}.svg`", one.kind.title(), one.kind.word())
            }
            Insist::OnNone => "all figures need an output folder, such as `-o figures/`".to_owned(),
        });
        return Ok(Exit::CouldNotRun);
    }
    for (index, one) in wanted.iter().enumerate() {
        let style = style_of_stdout();
        let loads = figure::loads::Loads::of(structure, one.subject);
        let Some(drawing) = figure::terminal::write_terminal(structure, &loads, style.width, style.colour) else {
            complain(&format!(
                "{}: it is too large for the terminal; `-o FILE.svg` draws it",
                project.files.name(FileId(0))
            ));
            return Ok(Exit::CouldNotRun);
        };
        let title = structure.title.as_deref().unwrap_or_else(|| project.files.name(FileId(0)));
        let several = structure.cases.len() + structure.combinations.len() + structure.travels.len() > 1;
        let under = one.subject.filter(|_| several);
        let under = under.map_or(String::new(), |subject| format!(", under {}", subject_name(structure, subject)));
        if index > 0 {
            writeln!(out)?;
        }
        writeln!(out, "{}{under}\n", unheeded(&one_line(title, 200)))?;
        out.write_all(drawing.as_bytes())?;
        for note in &loads.notes {
            writeln!(out, "  {}", unheeded(&one_line(note, 200)))?;
        }
    }
    Ok(Exit::Fine)
}

fn into_files(
    arguments: &DrawArguments,
    output: &Path,
    reader: &Reader,
    project: &Project,
    checked: &Checked,
    wanted: &[Wanted],
) -> Outcome {
    let target = match Target::of(arguments, output, wanted.len()) {
        Ok(target) => target,
        Err(message) => {
            complain(&message);
            return Ok(Exit::CouldNotRun);
        }
    };
    let mut exit = Exit::Fine;
    for (index, one) in wanted.iter().enumerate() {
        let figure = match figure::draw(checked, one.kind, one.subject) {
            Ok(figure) => figure,
            Err(refusal) => {
                exit = exit.max(missing(project, checked, one, &refusal));
                continue;
            }
        };
        let case = one.subject.filter(|_| one.named).map(|subject| subject_name(&checked.structure, subject));
        let path = target.path(one.kind, case, index, wanted.len());
        match bytes(&figure, target.format) {
            Ok(bytes) => exit = exit.max(deliver(Some(&path), &bytes, reader)?),
            Err(why) => {
                complain(&format!("cannot write {}: {why}", path.display()));
                exit = Exit::CouldNotRun;
            }
        }
        if exit == Exit::CouldNotRun && one.insist == Insist::OnNone {
            break;
        }
    }
    Ok(exit)
}

/// The longest name of a file, in bytes, before the number and the ending that
/// follow it: file systems take 255 in all.
const MOST_OF_A_NAME: usize = 200;

/// Where figures go.
struct Target {
    /// What names begin with: a folder and, for several figures, a stem.
    folder: PathBuf,
    stem: String,
    /// The name as it was given, which one figure takes as it is.
    whole: Option<PathBuf>,
    format: FigureFormat,
}

impl Target {
    fn of(arguments: &DrawArguments, output: &Path, figures: usize) -> Result<Target, String> {
        if file_of(Some(output)).is_none() {
            if figures > 1 {
                let why = "several figures need an output folder, such as `-o figures/`: standard output takes one";
                return Err(why.to_owned());
            }
            let format = arguments.format.unwrap_or(FigureFormat::Svg);
            return Ok(Target { folder: PathBuf::new(), stem: String::new(), whole: Some(output.to_owned()), format });
        }
        let text = output.to_string_lossy();
        if output.is_dir() || text.ends_with(['/', '\\']) {
            std::fs::create_dir_all(output).map_err(|error| format!("cannot make the folder {text}: {error}"))?;
            let own = arguments.file.file_stem().map(|stem| stem.to_string_lossy().into_owned());
            let stem = own.filter(|stem| stem != "-").unwrap_or_else(|| "figure".to_owned());
            let format = arguments.format.unwrap_or(FigureFormat::Svg);
            return Ok(Target { folder: output.to_owned(), stem, whole: None, format });
        }
        let by_name = match ending_of(output).as_deref() {
            Some("svg") => Some(FigureFormat::Svg),
            Some("png") => Some(FigureFormat::Png),
            Some("tex") => Some(FigureFormat::Tex),
            _ => None,
        };
        let format = arguments.format.or(by_name).ok_or_else(|| {
            format!("{text} has no known extension: it should end in .svg, .png or .tex, or in / for a folder")
        })?;
        let stem = output.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        let folder = output.parent().map_or_else(PathBuf::new, Path::to_path_buf);
        Ok(Target { folder, stem, whole: Some(output.to_owned()), format })
    }

    /// Where one of several figures goes, the `index`-th of them.
    fn path(&self, kind: Kind, case: Option<&str>, index: usize, figures: usize) -> PathBuf {
        if let (Some(whole), 1) = (&self.whole, figures) {
            return whole.clone();
        }
        let mut name = format!("{}-{}", self.stem, kind.word());
        if let Some(case) = case {
            name.push('-');
            name.push_str(case);
        }
        if name.len() > MOST_OF_A_NAME {
            let cut = (0..=MOST_OF_A_NAME).rev().find(|at| name.is_char_boundary(*at)).unwrap_or(0);
            name.truncate(cut);
            // What is left of several long names may be the same.
            name.push_str(&format!("-{}", index + 1));
        }
        self.folder.join(format!("{name}.{}", self.format.extension()))
    }
}

fn bytes(figure: &Figure, format: FigureFormat) -> Result<Vec<u8>, String> {
    match format {
        FigureFormat::Svg => Ok(figure.svg().into_bytes()),
        FigureFormat::Tex => Ok(figure.latex().into_bytes()),
        #[cfg(feature = "png")]
        FigureFormat::Png => {
            let made = figure::png::write_png(&figure.picture, figure::Page::Light);
            made.ok_or_else(|| "the drawing is too large for a PNG".to_owned())
        }
        #[cfg(not(feature = "png"))]
        FigureFormat::Png => {
            Err("this kingpost was built without PNG (cargo feature `png`); SVG is available".to_owned())
        }
    }
}
