//! The state of a job: the facts, and where to find them.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;

use crate::building::{Job, Person, Subject, SubjectIx, SubjectKind, Subjects};
use crate::day::facts::{
    Adoption, Attendance, Day, Defect, DefectState, Done, Effect, ExtraWork, ForecastInForce, HoldState, HoldStatus,
    Plan, Reading, SealPlan, Stock, Stoppage,
};
use crate::index::Grid;
use crate::moment::Moment;
use crate::record::{Answer, DefectId, DefectRow, Entry, EntryId, HoldRow, ReadTables, crew};
use crate::sequence::{Ask, FigureRevised, FiguresInForce, HoldIx, Sequence, Step, StepIx};

/// What the entries of a job come to.
#[derive(Debug, Clone)]
pub struct State {
    /// The job.
    pub job: Job,
    /// Its subjects.
    pub subjects: Subjects,
    /// Every edition of the sequence, the one in force last.
    pub editions: Vec<Arc<Sequence>>,
    /// The edition in force as its file has it, without the figures of the job.
    pub(in crate::day) pinned: Arc<Sequence>,
    /// By the key of a figure: who revised it last, and when. None for those that the job was set up with.
    pub(in crate::day) figures_revised: BTreeMap<String, FigureRevised>,
    /// How each edition but the first came into force.
    pub adoptions: Vec<Adoption>,
    /// Everything done, by step and subject of the edition in force; see [`State::done`].
    pub(in crate::day) progress: Grid<Step, Subject, Vec<Done>>,
    /// How many entries were folded in.
    pub(in crate::day) folded: usize,
    /// What the record that is being folded in has opened and closed so far; empty between records.
    pub(in crate::day) effects: Vec<Effect>,
    /// Readings that were recorded after a step that they let pass.
    pub read_after_work: BTreeSet<EntryId>,
    /// Readings by the index of the wall.
    pub(in crate::day) readings: BTreeMap<SubjectIx, Vec<Reading>>,
    /// Where among them those with rain or frost are: what may make a window lapse.
    pub(in crate::day) wet_or_freezing: BTreeMap<SubjectIx, Vec<usize>>,
    /// The last forecast.
    pub forecast: Option<ForecastInForce>,
    /// The seal plans that were kept, the one in force last.
    pub seal_plans: Vec<SealPlan>,
    /// Hold points that something happened to, by hold and subject.
    pub(in crate::day) holds: BTreeMap<(HoldIx, SubjectIx), HoldStatus>,
    /// Hold points that the edition in force no longer has, as they stood when they were dropped.
    pub dropped_holds: Vec<HoldStatus>,
    /// Whether a step is asked of a subject.
    pub(in crate::day) asked: Grid<Step, Subject, bool>,
    /// Sums kept, by name and subject, the last of each.
    pub(in crate::day) plans: BTreeMap<(String, SubjectIx), Plan>,
    /// Deliveries, and what was taken.
    pub stock: Stock,
    /// Defects in the order in which they were opened.
    pub defects: Vec<Defect>,
    /// Where each defect stands in that list.
    pub(in crate::day) defect_places: HashMap<DefectId, usize>,
    /// Site days.
    pub days: Vec<Day>,
    /// Stoppages in the order in which they began.
    pub stoppages: Vec<Stoppage>,
    /// Extra work in the order in which it was asked for.
    pub extras: Vec<ExtraWork>,
    /// Struck entries and what strikes them.
    pub struck: BTreeMap<EntryId, EntryId>,
    /// The device whose file this is: of two crews each has its own days.
    pub(in crate::day) device: Option<Arc<str>>,
    /// How many entries the record has, struck ones included.
    pub entries: usize,
    /// When each device recorded last, and the number of that entry; what is struck does not count.
    pub(in crate::day) last_recorded: BTreeMap<Arc<str>, (Moment, u64)>,
    /// Whether anything was written under a rehearsal clock.
    pub rehearsal: bool,
    /// Entries of kinds that this program does not know, or that name what is not on the job.
    pub not_understood: Vec<EntryId>,
}

impl State {
    /// The state of a job that was set up with a sequence, and to which nothing has happened yet.
    pub(in crate::day) fn new(job: Job, sequence: Sequence) -> Self {
        let subjects = job.subjects();
        let sequence = Arc::new(sequence);
        let mut state = Self {
            job,
            pinned: Arc::clone(&sequence),
            figures_revised: BTreeMap::new(),
            progress: Grid::new(0, 0, |_, _| Vec::new()),
            subjects,
            editions: Vec::new(),
            adoptions: Vec::new(),
            asked: Grid::new(0, 0, |_, _| false),
            folded: 0,
            effects: Vec::new(),
            read_after_work: BTreeSet::new(),
            readings: BTreeMap::new(),
            wet_or_freezing: BTreeMap::new(),
            forecast: None,
            seal_plans: Vec::new(),
            holds: BTreeMap::new(),
            dropped_holds: Vec::new(),
            plans: BTreeMap::new(),
            stock: Stock::default(),
            defects: Vec::new(),
            defect_places: HashMap::new(),
            days: Vec::new(),
            stoppages: Vec::new(),
            extras: Vec::new(),
            struck: BTreeMap::new(),
            device: None,
            entries: 0,
            last_recorded: BTreeMap::new(),
            rehearsal: false,
            not_understood: Vec::new(),
        };
        state.put_in_force(sequence, None);
        state
    }

    /// Takes a sequence into force: what was done keeps its step by the step's key, hold points keep theirs.
    pub(in crate::day) fn put_in_force(&mut self, sequence: Arc<Sequence>, by: Option<EntryId>) {
        let old = self.editions.last().map(Arc::clone);
        let was = |step: StepIx| old.as_ref()?.step(&sequence.steps[step].key);
        let progress = Grid::new(sequence.steps.len(), self.subjects.all().len(), |step, subject| {
            was(step).and_then(|was| self.progress.get_mut(was, subject)).map(std::mem::take).unwrap_or_default()
        });
        let mut holds = BTreeMap::new();
        if old.is_some() {
            let stood = self.holds().into_iter().map(|(_, subject, status)| (subject, status));
            let dropped = std::mem::take(&mut self.dropped_holds).into_iter();
            let dropped = dropped.filter_map(|status| Some((self.subjects.index(&status.subject)?, status)));
            for (subject, status) in stood.chain(dropped).collect::<Vec<_>>() {
                match sequence.hold(&status.key) {
                    Some(new) => {
                        let (title, roles) = (sequence.holds[new].title.clone(), sequence.holds[new].roles.clone());
                        holds.insert((new, subject), HoldStatus { title, roles, dropped_by: None, ..status });
                    }
                    None => {
                        let dropped_by = status.dropped_by.clone().or_else(|| by.clone());
                        self.dropped_holds.push(HoldStatus { dropped_by, ..status });
                    }
                }
            }
        }
        self.progress = progress;
        self.holds = holds;
        self.pinned = sequence;
        self.editions.push(Arc::new(self.with_figures()));
        self.ask_afresh();
    }

    /// The edition in force with the figures that the job gives now.
    pub(super) fn with_figures(&self) -> Sequence {
        Sequence::clone(&self.pinned).with_figures(self.figures())
    }

    /// The figures that the job gives now.
    pub fn figures(&self) -> FiguresInForce<'_> {
        FiguresInForce { job: &self.job, revised: &self.figures_revised }
    }

    /// Every rule asks all day long which step is asked of which subject.
    pub(super) fn ask_afresh(&mut self) {
        let sequence = self.sequence();
        self.asked = Grid::new(sequence.steps.len(), self.subjects.all().len(), |step, subject| {
            sequence.asked_of(step, self.subjects.get(subject), &self.job)
        });
    }

    /// Looks at the days from the side of a device.
    pub fn set_device(&mut self, device: &str) {
        self.device = Some(device.into());
    }

    /// The device whose file this is.
    pub fn device(&self) -> Option<&str> {
        self.device.as_deref()
    }

    /// When anything was recorded last.
    pub fn last_recorded(&self) -> Option<Moment> {
        self.last_recorded.values().map(|(at, _)| *at).max()
    }

    /// What this file recorded last, and when, in its own book or in one that it goes on from as a copy does; in a record
    /// that is looked at from no device, what any did.
    pub fn last_recorded_here(&self) -> Option<(Moment, EntryId)> {
        let is_own = |device: &str| self.device.as_ref().is_none_or(|own| crew(own) == crew(device));
        let own = self.last_recorded.iter().filter(|(device, _)| is_own(device));
        own.map(|(device, (at, seq))| (*at, EntryId { device: Arc::clone(device), seq: *seq })).max()
    }

    /// Whether an entry is struck.
    pub fn is_struck(&self, entry: &Entry) -> bool {
        !self.struck.is_empty() && self.struck.contains_key(&entry.id())
    }

    /// Notes that an entry was recorded.
    pub(in crate::day) fn note_recorded(&mut self, entry: &Entry) {
        let this = (entry.recorded_at, entry.seq);
        match self.last_recorded.get_mut(&entry.device) {
            Some(last) => *last = this.max(*last),
            None => {
                self.last_recorded.insert(Arc::clone(&entry.device), this);
            }
        }
    }

    /// The sequence in force.
    pub fn sequence(&self) -> &Sequence {
        // There is always one: a state begins with the job's own.
        &self.editions[self.editions.len() - 1]
    }

    /// Everything done of a step on a subject, oldest first.
    pub fn done(&self, step: StepIx, subject: SubjectIx) -> &[Done] {
        self.progress.get(step, subject).map_or(&[], Vec::as_slice)
    }

    /// Whether a step is asked of a subject.
    pub fn asked_of(&self, step: StepIx, subject: SubjectIx) -> bool {
        self.asked.get(step, subject).copied().unwrap_or_default()
    }

    /// Every step with every subject that it is asked of, in the order of the sequence.
    pub fn work(&self) -> impl Iterator<Item = (StepIx, SubjectIx)> + '_ {
        self.asked.cells().filter(|(_, asked)| **asked).map(|(at, _)| at)
    }

    /// The questions of a step on a subject, each with the tolerance and the planned value in force there.
    pub fn asks(&self, step: StepIx, subject: SubjectIx) -> Vec<Arc<Ask>> {
        let is = self.subjects.get(subject);
        self.sequence().steps[step].asks_with(is, &self.job, &self.planned(step, subject))
    }

    /// The same where some are answered: a choice that was made decides whether another question is asked, and its
    /// tolerance. What was answered unasked is judged all the same.
    pub fn asks_where(&self, step: StepIx, subject: SubjectIx, answers: &BTreeMap<String, Answer>) -> Vec<Arc<Ask>> {
        let chosen = |ask: &str| match answers.get(ask)? {
            Answer::Words(choice) => Some(choice.as_str()),
            _ => None,
        };
        let asked = |ask: &Arc<Ask>| answers.contains_key(&ask.key) || ask.is_asked(chosen);
        let asks = self.asks(step, subject).into_iter().filter(asked);
        asks.map(|ask| {
            let choice = ask.by.as_deref().and_then(chosen);
            ask.where_chosen(choice)
        })
        .collect()
    }

    /// The subjects on which a step counts for what is done on `subject`: itself where it can be done there, else what it
    /// belongs to and what belongs to it.
    pub(in crate::day) fn related_of(&self, step: StepIx, subject: SubjectIx) -> impl Iterator<Item = SubjectIx> + '_ {
        let (on, kind) = (&self.sequence().steps[step].on, self.subjects.get(subject).kind());
        let itself = on.contains(&kind);
        let kinds = on.iter().filter(move |on| !itself || **on == kind);
        kinds.flat_map(move |kind| self.subjects.related(subject, *kind).iter().copied())
    }

    /// Where a hold point stands on a subject.
    pub fn hold(&self, hold: HoldIx, subject: SubjectIx) -> HoldStatus {
        self.holds.get(&(hold, subject)).cloned().unwrap_or_else(|| {
            let found = &self.sequence().holds[hold];
            HoldStatus {
                key: found.key.clone(),
                title: found.title.clone(),
                subject: self.subjects.get(subject).to_string(),
                roles: found.roles.clone(),
                ..HoldStatus::default()
            }
        })
    }

    /// Whether a hold point is released on a subject.
    pub fn is_released(&self, hold: HoldIx, subject: SubjectIx) -> bool {
        self.holds.get(&(hold, subject)).is_some_and(|status| status.state == HoldState::Released)
    }

    /// Every hold point on every subject that it is released on: index of the hold point, index of the subject.
    pub fn hold_points(&self) -> impl Iterator<Item = (HoldIx, SubjectIx)> + '_ {
        let subjects = self.subjects.all().indexed();
        let holds = self.sequence().holds.indexed();
        holds.flat_map(move |(hold, found)| {
            subjects.clone().filter(|(_, is)| is.kind() == found.per).map(move |(subject, _)| (hold, subject))
        })
    }

    /// Where every hold point stands, on every subject that it is released on.
    pub fn holds(&self) -> Vec<(HoldIx, SubjectIx, HoldStatus)> {
        self.hold_points().map(|(hold, subject)| (hold, subject, self.hold(hold, subject))).collect()
    }

    /// The subjects on which a hold point is released, for something done on `subject`.
    pub(in crate::day) fn hold_subjects(&self, per: SubjectKind, subject: SubjectIx) -> &[SubjectIx] {
        match per {
            SubjectKind::Job => self.subjects.related(subject, SubjectKind::Job),
            _ => self.subjects.exposed_walls(subject),
        }
    }

    /// Readings on a wall, oldest first.
    pub fn readings(&self, wall: SubjectIx) -> &[Reading] {
        self.readings.get(&wall).map_or(&[], Vec::as_slice)
    }

    /// Who of those on site has not acknowledged a caution today.
    pub fn has_not_read(&self, caution: &str, now: Moment) -> Vec<String> {
        let Some(today) = self.open_day() else { return Vec::new() };
        let missing = today.crew_at(now).filter(|name| !self.has_acknowledged(caution, name, today.date, now));
        missing.map(str::to_owned).collect()
    }

    /// Whether a person had acknowledged a caution by a moment, on any site day of a date: once a day is once a date, also
    /// where the day was closed and opened again, or where another crew's book has it.
    pub(in crate::day) fn has_acknowledged(&self, caution: &str, name: &str, date: NaiveDate, at: Moment) -> bool {
        let later = |day: &&Day| day.date > date;
        let of_date = self.days.iter().rev().skip_while(later).take_while(|day| day.date == date);
        let mut times = of_date.filter_map(|day| day.acknowledged.get(caution)?.get(name));
        times.any(|when| *when <= at)
    }

    /// Every reading once, wall by wall; those of the whole job with the first wall.
    pub fn all_readings(&self) -> impl Iterator<Item = &Reading> {
        let walls = self.subjects.all_walls().iter();
        walls.enumerate().flat_map(move |(place, wall)| {
            let own = move |reading: &&Reading| place == 0 || reading.subject != "job";
            self.readings(*wall).iter().filter(own)
        })
    }

    /// The site day that was open at a moment; the device's own before another's.
    pub fn day_at(&self, device: Option<&str>, at: Moment) -> Option<usize> {
        let own = self.days.iter().rposition(|day| Some(&*day.device) == device && day.is_open_at(at));
        own.or_else(|| self.days.iter().rposition(|day| day.is_open_at(at)))
    }

    /// The site day of this file's device that is not closed; in a record that is looked at from no device, the last.
    pub fn open_day(&self) -> Option<&Day> {
        let last = |own: &dyn Fn(&&Day) -> bool| self.days.iter().rfind(own);
        let day = match &self.device {
            None => self.days.last(),
            // A file that was copied in the middle of a day goes on with that day in a book of its own.
            Some(device) => {
                last(&|day| day.device == *device).or_else(|| last(&|day| crew(&day.device) == crew(device)))
            }
        };
        day.filter(|day| day.closed_at.is_none())
    }

    /// Whether somebody is on site on a usual day: of those who put up cladding whoever was there the last time, before the
    /// first day everybody.
    pub fn is_usually_on_site(&self, person: &Person) -> bool {
        let last = self.days.last();
        person.installs() && last.is_none_or(|day| day.crew.iter().any(|stay| stay.name == person.name))
    }

    /// Whether somebody puts up cladding: a builder or an inspector who is on site looks on. By whatever spelling of the
    /// name.
    pub fn installs(&self, name: &str) -> bool {
        self.person(name).is_none_or(Person::installs)
    }

    /// The people of a day who put up cladding: whoever looks on has no hours.
    pub fn installers<'d>(&'d self, day: &'d Day) -> impl Iterator<Item = Attendance<'d>> {
        day.people().filter(|one| self.installs(one.name))
    }

    /// The person of this name.
    pub fn person(&self, name: &str) -> Option<&Person> {
        self.job.person(name)
    }

    /// The defect of this id.
    pub fn defect(&self, id: &DefectId) -> Option<&Defect> {
        self.defects.get(*self.defect_places.get(id)?)
    }

    /// Defects still open.
    pub fn open_defects(&self) -> impl Iterator<Item = &Defect> {
        self.defects.iter().filter(|defect| defect.is_open())
    }

    /// Stoppages that have not ended.
    pub fn open_stoppages(&self) -> impl Iterator<Item = &Stoppage> {
        self.stoppages.iter().filter(|stoppage| stoppage.ended_at.is_none())
    }

    /// The stoppage that an entry started.
    pub fn stoppage(&self, entry: &EntryId) -> Option<&Stoppage> {
        self.stoppages.iter().find(|stoppage| stoppage.entry == *entry)
    }

    /// Whether a stoppage stops work on a subject: on the subject itself, on a wall that it touches, on the whole job.
    pub fn is_stopped_by(&self, stoppage: &Stoppage, subject: SubjectIx) -> bool {
        let Some(stopped) = self.subjects.index(&stoppage.subject) else { return false };
        *self.subjects.get(stopped) == Subject::Job
            || stopped == subject
            || self.subjects.walls_of(subject).contains(&stopped)
    }

    /// The rows of the read tables.
    pub fn read_tables(&self) -> ReadTables {
        let mut holds: Vec<HoldRow> = self.hold_points().map(|(hold, subject)| self.hold_row(hold, subject)).collect();
        holds.sort();
        // What is void is found again from the entries; older files never held it.
        let not_void = self.defects.iter().filter(|defect| defect.state != DefectState::Void);
        let mut defects: Vec<DefectRow> = not_void.map(Defect::row).collect();
        defects.sort();
        let mut struck: Vec<_> = self.struck.iter().map(|(id, by)| (id.to_string(), by.to_string())).collect();
        struck.sort();
        ReadTables { struck, holds, defects }
    }

    /// The row of a hold point on a subject.
    pub(crate) fn hold_row(&self, hold: HoldIx, subject: SubjectIx) -> HoldRow {
        HoldRow {
            hold: self.sequence().holds[hold].key.clone(),
            subject: self.subjects.get(subject).to_string(),
            state: self.holds.get(&(hold, subject)).map_or(HoldState::Held, |status| status.state).word().to_owned(),
        }
    }
}

impl Defect {
    /// Its row.
    pub(crate) fn row(&self) -> DefectRow {
        DefectRow {
            id: self.id.to_string(),
            subject: self.subject.clone(),
            state: self.state.word().to_owned(),
            what: self.what.clone(),
        }
    }
}
