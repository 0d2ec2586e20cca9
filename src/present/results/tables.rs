//! Results as tables: what a page of text and a report show of a case, of all
//! cases beside each other, and of a travelling load. Each is made once here
//! and set by each page in its own way.
//!
//! Must not know: how forces are found, how a table is written.

use crate::base::{JointId, MemberId};
use crate::check::outcome::tension_side;
use crate::check::words::{self, member_place};
use crate::present::text::Align;
use crate::quantity::{Dimension, NamedUnit, UnitSystem, format};
use crate::statics::diagram::{Diagram, Quantity};
use crate::statics::travel::{Peak as TravelPeak, Range};
use crate::statics::{CaseResult, Reaction, TravelResult, ZERO_SHARE};
use crate::structure::Structure;

use super::beams::{beams, has_even_axial, inside_rows, moment_scale, noise_moment, pinned};
use super::extremes::{Compared, Peak};
use super::subject_name;
use super::words::direction_words;

/// Columns of equal length.
#[derive(Clone, Debug)]
pub struct Table {
    /// What heads its first column on a page of text, which has no captions.
    pub name: &'static str,
    pub caption: String,
    /// What its rows are: `supports`.
    pub rows: &'static str,
    pub columns: Vec<Column>,
}

#[derive(Clone, Debug)]
pub struct Column {
    pub name: String,
    /// Empty for words.
    pub unit: String,
    pub align: Align,
    pub cells: Vec<String>,
}

impl Column {
    fn words(name: &str, cells: impl IntoIterator<Item = String>) -> Column {
        Column { name: name.to_owned(), unit: String::new(), align: Align::Left, cells: cells.into_iter().collect() }
    }

    /// `Fx kN`
    pub fn heading(&self) -> String {
        format!("{} {}", self.name, self.unit).trim().to_owned()
    }
}

/// The words of two opposite extremes, and whether they leave the sign unsaid.
#[derive(Clone, Copy, Debug)]
pub struct Sides {
    pub words: [&'static str; 2],
    are_sizes: bool,
}

pub const GREATEST_LEAST: Sides = Sides { words: ["greatest", "least"], are_sizes: false };
pub const TENSION_COMPRESSION: Sides = Sides { words: ["tension", "compression"], are_sizes: true };
pub const POSITIVE_NEGATIVE: Sides = Sides { words: ["positive", "negative"], are_sizes: false };

/// The extremes of one quantity, of every support or member that has it.
#[derive(Debug)]
pub struct Extremes {
    /// `Fx`; empty for the forces of bars, which have no other.
    pub quantity: &'static str,
    /// The quantity with its unit and its positive sense.
    heading: String,
    unit: NamedUnit,
    entries: Vec<Entry>,
}

#[derive(Debug)]
struct Entry {
    /// The place of its support or member among the others.
    order: usize,
    name: String,
    peaks: [Option<Peak>; 2],
    /// The member along which the peaks lie.
    along: Option<MemberId>,
}

/// Where a table of extremes says of which quantity they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum QuantityIn {
    AColumn,
    /// Its unit stands in the headings.
    TheHeadings,
}

/// The members whose extremes under a train a table shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Of every member, the sense of a shear in words.
    All,
    /// A shear with its sign.
    Beams,
    Bars,
}

/// The tables of one structure, in the file's units.
#[derive(Debug)]
pub struct Tables<'a> {
    pub structure: &'a Structure,
    units: UnitSystem,
    pub force: NamedUnit,
    moment: NamedUnit,
}

/// The rows of [`Tables::sums`].
const SUMMED: [&str; 3] = ["loads", "reactions", "sum"];

impl<'a> Tables<'a> {
    pub fn of(structure: &'a Structure) -> Tables<'a> {
        let units = words::units(structure);
        let [force, moment] = [Dimension::FORCE, Dimension::MOMENT].map(|dimension| units.display_unit(dimension));
        Tables { structure, units, force, moment }
    }

    /// A column of results; a dash where there is none. `scale` is the largest
    /// such value in the whole result, by which noise is told from numbers.
    fn numbers(
        &self,
        name: &str,
        unit: &NamedUnit,
        values: impl IntoIterator<Item = Option<f64>>,
        scale: f64,
    ) -> Column {
        let values: Vec<Option<f64>> = values.into_iter().map(|value| value.map(|si| unit.convert(si))).collect();
        let known: Vec<f64> = values.iter().flatten().copied().collect();
        let form = format::Column::of(&known, self.structure.figures, unit.convert(scale));
        let cells = values.iter().map(|value| value.map_or_else(|| "–".to_owned(), |value| form.cell(value)));
        Column { name: name.to_owned(), unit: unit.symbol.clone(), align: Align::Point, cells: cells.collect() }
    }

    /// A column of moments or rotations, given counterclockwise positive, in the
    /// file's own sense: the unit says `cw` where clockwise is positive.
    fn turning(&self, name: &str, unit: &NamedUnit, values: Vec<Option<f64>>, scale: f64) -> Column {
        let turned = values.into_iter().map(|value| value.map(|value| self.structure.turning(value)));
        let column = self.numbers(name, unit, turned, scale);
        Column { unit: self.turning_unit(&column.unit), ..column }
    }

    /// `kN·m`; with `cw` where clockwise is positive.
    fn turning_unit(&self, symbol: &str) -> String {
        format!("{symbol}{}", if self.structure.turning_sign() < 0.0 { " cw" } else { "" })
    }

    fn joints(&self, name: &str, joints: impl Iterator<Item = JointId>) -> Column {
        Column::words(name, joints.map(|joint| self.structure.joint_name(joint).to_owned()))
    }

    fn members(&self, name: &str, members: &[MemberId]) -> Column {
        Column::words(name, members.iter().map(|member| self.structure.member_name(*member)))
    }

    pub fn reactions(&self, result: &CaseResult) -> Table {
        let (supports, all, scale) = (&self.structure.supports, &result.reactions, result.largest);
        let size = |[x, y]: [f64; 2]| x.hypot(y);
        let mut columns = vec![
            self.joints("joint", supports.iter().map(|support| support.joint)),
            Column::words("support", supports.iter().map(|support| support.kind.word().to_owned())),
            self.numbers("Fx", &self.force, all.iter().map(|reaction| reaction.fx), scale),
            self.numbers("Fy", &self.force, all.iter().map(|reaction| reaction.fy), scale),
        ];
        if all.iter().any(|reaction| reaction.m.is_some()) {
            let scale = moment_scale(self.structure, result);
            columns.push(self.turning("M", &self.moment, all.iter().map(|reaction| reaction.m).collect(), scale));
        }
        columns.push(self.numbers("magnitude", &self.force, all.iter().map(|found| Some(size(found.force()))), scale));
        let directions = all.iter().map(|found| direction_words(self.structure, found.force(), scale));
        columns.push(Column::words("direction", directions));
        let caption = "Reactions: the forces of the supports on the structure".to_owned();
        Table { name: "reactions", caption, rows: "supports", columns }
    }

    /// What the members are called that carry axial force alone.
    fn bars_name(&self) -> &'static str {
        if beams(self.structure).is_empty() { "members" } else { "bars" }
    }

    /// The sizes of the forces in bars and cables, and their sense.
    pub fn bars(&self, result: &CaseResult) -> Option<Table> {
        let bars = pinned(self.structure);
        let forces = bars.iter().map(|bar| Some(result.axial[*bar].abs()));
        let columns = vec![
            self.members("member", &bars),
            self.numbers("force", &self.force, forces, result.largest),
            Column::words("", bars.iter().map(|bar| sense(result.axial[*bar], result.largest).to_owned())),
        ];
        let name = self.bars_name();
        (!bars.is_empty()).then(|| Table { name, caption: "Member forces".to_owned(), rows: "members", columns })
    }

    /// The forces in bars and cables of several cases.
    pub fn bars_beside(&self, results: &[&CaseResult]) -> Option<Table> {
        let bars = pinned(self.structure);
        let forces = results.iter().map(|result| {
            let column = self.numbers("", &self.force, bars.iter().map(|bar| Some(result.axial[*bar])), result.largest);
            let name = subject_name(self.structure, result.subject).to_owned();
            Column { name, unit: String::new(), ..column }
        });
        let columns = std::iter::once(self.members("member", &bars)).chain(forces).collect();
        let caption = format!("In {}, tension positive, compression negative", self.force.symbol);
        (!bars.is_empty()).then_some(Table { name: "member", caption, rows: "members", columns })
    }

    /// Axial force, shear and moment at the ends of each beam, and the extreme
    /// moments between them beyond both; a second such moment has a row below.
    pub fn beams(&self, result: &CaseResult) -> Option<Table> {
        let members = beams(self.structure);
        let (scale, noise) = (result.largest, noise_moment(self.structure, result));
        let diagrams: Vec<Diagram> = members.iter().map(|member| result.diagram(self.structure, *member)).collect();
        let moments = diagrams.iter().flat_map(|diagram| diagram.extremes(Quantity::Moment));
        let moment_scale = moments.map(|extreme| extreme.value.abs()).fold(noise, f64::max);
        let rows = inside_rows(&diagrams, noise);
        // A beam's own values stand on the first of its rows.
        let once = |column: Column| {
            let cell = |row: &super::beams::InsideRow| column.cells.get(row.beam).filter(|_| row.is_first).cloned();
            Column { cells: rows.iter().map(|row| cell(row).unwrap_or_default()).collect(), ..column }
        };
        let forces = |name: &str, value: fn(&Diagram) -> f64| {
            once(self.numbers(name, &self.force, diagrams.iter().map(|diagram| Some(value(diagram))), scale))
        };
        let moments = |name: &str, value: fn(&Diagram) -> f64| {
            once(self.numbers(name, &self.moment, diagrams.iter().map(|diagram| Some(value(diagram))), moment_scale))
        };
        let mut columns = vec![once(self.members("beam", &members))];
        if has_even_axial(&diagrams, scale) {
            columns.push(forces("N", |diagram| diagram.start().axial));
        } else {
            columns.push(forces("N start", |diagram| diagram.start().axial));
            columns.push(forces("N end", |diagram| diagram.end().axial));
        }
        columns.push(forces("V start", |diagram| diagram.start().shear));
        columns.push(forces("V end", |diagram| diagram.end().shear));
        columns.push(moments("M start", |diagram| diagram.start().moment));
        columns.push(moments("M end", |diagram| diagram.end().moment));
        // Where every moment lies between those at the ends there is no need for more.
        if rows.iter().any(|row| row.extreme.is_some()) {
            let inside = rows.iter().map(|row| row.extreme.map(|extreme| extreme.value));
            columns.push(self.numbers("M span", &self.moment, inside, moment_scale));
            let length = &self.units.length;
            let place = |at: f64| self.structure.figures.result(length.convert(at));
            let cells = rows.iter().map(|row| row.extreme.map_or_else(String::new, |extreme| place(extreme.at)));
            let unit = length.symbol.clone();
            columns.push(Column { unit, align: Align::Right, ..Column::words("at", cells) });
        }
        let caption =
            "Beams, each from its first-named joint: N positive in tension; M positive with tension on the right \
                       looking along the beam (named from left to right: sagging)"
                .to_owned();
        (!members.is_empty()).then_some(Table { name: "beams", caption, rows: "beams", columns })
    }

    /// How each joint moves; nothing where some stiffness is not known.
    pub fn displacements(&self, result: &CaseResult) -> Option<Table> {
        let moved = result.displacements.as_ref()?;
        let unit = &self.units.deflection;
        let largest = moved.iter().map(|moved| moved.dx.hypot(moved.dy)).fold(0.0, f64::max);
        let mut columns = vec![
            self.joints("joint", moved.ids()),
            self.numbers("dx", unit, moved.iter().map(|moved| Some(moved.dx)), largest),
            self.numbers("dy", unit, moved.iter().map(|moved| Some(moved.dy)), largest),
        ];
        if moved.iter().any(|moved| moved.turn.is_some()) {
            // Thousandths of a radian read better than 0.0003 rad.
            let thousandths = moved.iter().map(|moved| moved.turn.map(|turn| turn * 1e3)).collect();
            let radians = self.units.display_unit(Dimension::PURE);
            let turns = self.turning("rotation", &radians, thousandths, 0.0);
            columns.push(Column { unit: self.turning_unit("mrad"), ..turns });
        }
        let sense = if self.structure.turning_sign() < 0.0 { "clockwise" } else { "counterclockwise" };
        let caption = format!("Displacements: right, up and {sense} positive");
        Some(Table { name: "displacements", caption, rows: "joints", columns })
    }

    /// The sums of loads and reactions, and their own sum.
    pub fn sums(&self, result: &CaseResult) -> Table {
        let whole = &result.residual.whole;
        let [loads, reactions, left] = [whole.loads, whole.reactions, whole.sum()];
        let [[x1, y1, m1], [x2, y2, m2], [x3, y3, m3]] = [loads, reactions, left];
        // A sum of moments is noise beside the moments that were added.
        let moments = [m1, m2, m3];
        let scale = moments.iter().fold(moment_scale(self.structure, result), |largest, m| largest.max(m.abs()));
        let about = whole.about.map_or(String::new(), |joint| format!(" about {}", self.structure.joint_name(joint)));
        let columns = vec![
            Column::words("", SUMMED.map(str::to_owned)),
            self.numbers("Fx", &self.force, [x1, x2, x3].map(Some), result.largest),
            self.numbers("Fy", &self.force, [y1, y2, y3].map(Some), result.largest),
            self.turning(&format!("M{about}"), &self.moment, moments.map(Some).to_vec(), scale),
        ];
        Table { name: "sums", caption: "Sums".to_owned(), rows: "sums", columns }
    }

    /// The greatest and least reactions, a component each.
    pub fn extreme_reactions(&self, compared: &Compared<'_>) -> Vec<Extremes> {
        type Component = fn(&Reaction) -> Option<f64>;
        let turning: Component = match self.structure.turning_sign() < 0.0 {
            true => |reaction| reaction.m.map(|m| -m),
            false => |reaction| reaction.m,
        };
        let components: [(&str, Component, &NamedUnit); 3] = [
            ("Fx", |reaction| reaction.fx, &self.force),
            ("Fy", |reaction| reaction.fy, &self.force),
            ("M", turning, &self.moment),
        ];
        let all = components.map(|(quantity, component, unit)| {
            let peaks = compared.reactions(component).into_iter().zip(&self.structure.supports).enumerate();
            let entries = peaks.filter_map(|(order, (peaks, support))| {
                let name = self.structure.joint_name(support.joint).to_owned();
                Some(Entry { order, name, peaks: peaks?.map(Some), along: None })
            });
            let symbol = if quantity == "M" { self.turning_unit(&unit.symbol) } else { unit.symbol.clone() };
            let heading = format!("{quantity} {symbol}");
            Extremes { quantity, heading, unit: unit.clone(), entries: entries.collect() }
        });
        all.into_iter().filter(Extremes::is_told).collect()
    }

    /// The greatest tension and compression in bars and cables.
    pub fn extreme_bars(&self, compared: &Compared<'_>) -> (&'static str, Extremes) {
        let bars = pinned(self.structure);
        let entries = self.entries(&bars, compared.bars(&bars), |_| None);
        (self.bars_name(), Extremes { quantity: "", heading: String::new(), unit: self.force.clone(), entries })
    }

    /// The greatest N, V and M of beams, a quantity each.
    pub fn extreme_beams(&self, compared: &Compared<'_>) -> Vec<Extremes> {
        let beams = beams(self.structure);
        let all = [
            ("N", Quantity::Axial, &self.force),
            ("V", Quantity::Shear, &self.force),
            ("M", Quantity::Moment, &self.moment),
        ];
        let all = all.map(|(name, quantity, unit)| {
            let peaks = compared.beams(self.structure, &beams, quantity);
            let along = |beam| (quantity != Quantity::Axial).then_some(beam);
            let (heading, entries) = (format!("{name} {}", unit.symbol), self.entries(&beams, peaks, along));
            Extremes { quantity: name, heading, unit: unit.clone(), entries }
        });
        all.into_iter().filter(Extremes::is_told).collect()
    }

    fn entries(
        &self,
        members: &[MemberId],
        peaks: Vec<[Option<Peak>; 2]>,
        along: impl Fn(MemberId) -> Option<MemberId>,
    ) -> Vec<Entry> {
        let entry = |(order, (member, peaks)): (usize, (&MemberId, [Option<Peak>; 2]))| Entry {
            order,
            name: self.structure.member_name(*member),
            peaks,
            along: along(*member),
        };
        members.iter().zip(peaks).enumerate().map(entry).collect()
    }

    /// The extremes put together by what they are of, whose name stands once;
    /// the quantity has a column of its own, or its unit stands in the headings.
    pub fn extremes(&self, owner: &str, all: &[Extremes], sides: Sides, quantity: QuantityIn) -> Vec<Column> {
        let mut rows: Vec<(&Entry, &str, [String; 2])> = Vec::new();
        for group in all {
            let size = |value: f64| if sides.are_sizes { value.abs() } else { value };
            let [most, least] = [0, 1].map(|side: usize| {
                let peaks = group.entries.iter().map(|entry| entry.peaks.get(side).copied().flatten());
                self.numbers("", &group.unit, peaks.map(|peak| peak.map(|peak| size(peak.value))), 0.0).cells
            });
            let cells = most.into_iter().zip(least).map(|(most, least)| [most, least]);
            rows.extend(group.entries.iter().zip(cells).map(|(entry, cells)| (entry, group.heading.as_str(), cells)));
        }
        rows.sort_by_key(|(entry, ..)| entry.order);
        let mut last = None;
        let names: Vec<String> = rows
            .iter()
            .map(|(entry, ..)| {
                let is_told = last.replace(entry.order) == Some(entry.order);
                if is_told { String::new() } else { entry.name.clone() }
            })
            .collect();
        let mut columns = vec![Column::words(owner, names)];
        let mut unit = all.first().map_or_else(String::new, |group| group.unit.symbol.clone());
        if quantity == QuantityIn::AColumn {
            columns.push(Column::words("", rows.iter().map(|(_, quantity, _)| (*quantity).to_owned())));
            unit.clear();
        }
        let is_along = rows.iter().any(|(entry, ..)| entry.along.is_some());
        for (side, word) in sides.words.into_iter().enumerate() {
            let peak = |entry: &Entry| entry.peaks.get(side).copied().flatten();
            let cells = rows.iter().map(|(.., cells)| cells.get(side).cloned().unwrap_or_default());
            columns.push(Column { unit: unit.clone(), align: Align::Point, ..Column::words(word, cells) });
            let place = |entry: &Entry| Some(member_place(self.structure, entry.along?, peak(entry)?.at));
            let under = |entry: &Entry| Some(subject_name(self.structure, peak(entry)?.subject).to_owned());
            let told = |tell: &dyn Fn(&Entry) -> Option<String>| -> Vec<String> {
                rows.iter().map(|(entry, ..)| tell(entry).unwrap_or_default()).collect()
            };
            columns.extend(is_along.then(|| Column::words("where", told(&place))));
            columns.push(Column::words("under", told(&under)));
        }
        columns
    }

    /// The ends of every reaction's range under a train that are not zero.
    pub fn travel_reactions(&self, result: &TravelResult) -> Table {
        let mut rows = Vec::new();
        for (support, range) in self.structure.supports.iter().zip(&result.reactions) {
            let mut name = self.structure.joint_name(support.joint).to_owned();
            for (part, range, unit, [positive, negative]) in [
                ("Fx", range.fx, &self.force, ["right", "left"]),
                ("Fy", range.fy, &self.force, ["up", "down"]),
                ("M", range.m, &self.moment, ["ccw", "cw"]),
            ] {
                for peak in range.iter().flat_map(|range| self.ends(result, range, unit)) {
                    let sense = if peak.value > 0.0 { positive } else { negative };
                    let mut row = self.travel_row(&mut name, part, peak.value.abs(), unit, sense);
                    row.push(self.train(result, &peak));
                    rows.push(row);
                }
            }
        }
        let columns = columns_of(&["joint", "", "greatest", "", "position of the train"], rows);
        Table { name: "greatest reactions", caption: "Greatest reactions".to_owned(), rows: "reactions", columns }
    }

    /// The same of members: moments, shears and axial forces.
    pub fn travel_members(&self, result: &TravelResult, shown: Shown) -> Option<Table> {
        let mut rows = Vec::new();
        for (member, range) in self.structure.members.ids().zip(&result.members) {
            let bending = range.bending.as_ref();
            if shown == Shown::Beams && bending.is_none() || shown == Shown::Bars && bending.is_some() {
                continue;
            }
            let mut name = self.structure.member_name(member);
            for (what, range, unit) in [
                ("moment", bending.map(|bending| &bending.moment), &self.moment),
                ("shear", bending.map(|bending| &bending.shear), &self.force),
                ("axial", Some(&range.axial), &self.force),
            ] {
                for peak in range.into_iter().flat_map(|range| self.ends(result, range, unit)) {
                    let is_positive = peak.value > 0.0;
                    let (value, sense) = match what {
                        "moment" => (peak.value.abs(), tension_side(self.structure, member, peak.value)),
                        "shear" if shown == Shown::Beams => (peak.value, ""),
                        "shear" => (peak.value.abs(), if is_positive { "positive" } else { "negative" }),
                        _ => (peak.value.abs(), if is_positive { "tension" } else { "compression" }),
                    };
                    let what = if shown == Shown::Bars { "" } else { what };
                    let mut row = self.travel_row(&mut name, what, value, unit, sense);
                    // The force in a bar is the same along all of it.
                    let place = bending.map_or_else(String::new, |_| member_place(self.structure, member, peak.at));
                    row.extend((shown != Shown::Bars).then_some(place));
                    row.push(self.train(result, &peak));
                    rows.push(row);
                }
            }
        }
        let (name, headings): (_, &[&str]) = match shown {
            Shown::Bars => ("greatest forces in bars", &["member", "", "greatest", "", "position of the train"]),
            _ => (
                "greatest forces and moments in beams",
                &["member", "", "greatest", "", "where", "position of the train"],
            ),
        };
        let caption = "Greatest forces and moments in members".to_owned();
        (!rows.is_empty()).then(|| Table { name, caption, rows: "extremes", columns: columns_of(headings, rows) })
    }

    /// Whose extreme it is, which stands once; of what, how much, and in which sense.
    fn travel_row(&self, owner: &mut String, what: &str, value: f64, unit: &NamedUnit, sense: &str) -> Vec<String> {
        let size = self.structure.figures.result(unit.convert(value));
        vec![std::mem::take(owner), what.to_owned(), size, format!("{} {sense}", unit.symbol)]
    }

    fn train(&self, result: &TravelResult, peak: &TravelPeak) -> String {
        peak.train.map_or_else(String::new, |train| words::train(self.structure, result.travel, train))
    }

    /// The ends of a range that are not zero, the larger value first.
    fn ends(&self, result: &TravelResult, range: &Range, unit: &NamedUnit) -> Vec<TravelPeak> {
        let force = ZERO_SHARE * result.largest;
        let noise = if unit == &self.moment { force * self.structure.size() } else { force };
        let is_told = |peak: &TravelPeak| peak.train.is_some() && peak.value.abs() > noise;
        let mut ends: Vec<TravelPeak> = [range.most, range.least].into_iter().filter(is_told).collect();
        ends.dedup_by(|a, b| a.value == b.value);
        ends
    }
}

impl Extremes {
    fn is_told(&self) -> bool {
        self.entries.iter().any(|entry| entry.peaks != [None; 2])
    }
}

/// Rows as columns of words, the third of numbers.
fn columns_of(headings: &[&str], rows: Vec<Vec<String>>) -> Vec<Column> {
    let mut columns: Vec<Column> = headings.iter().map(|heading| Column::words(heading, [])).collect();
    if let Some(sizes) = columns.get_mut(2) {
        sizes.align = Align::Right;
    }
    for row in rows {
        columns.iter_mut().zip(row).for_each(|(column, cell)| column.cells.push(cell));
    }
    columns
}

/// `tension` and `compression` in words, so that no sign convention is needed.
fn sense(axial: f64, scale: f64) -> &'static str {
    if axial.abs() <= ZERO_SHARE * scale {
        ""
    } else if axial > 0.0 {
        "tension"
    } else {
        "compression"
    }
}
