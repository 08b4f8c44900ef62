//! The time line: a bar for each run.

use crate::picture::{Canvas, Fill, Hold, Scale, Stroke};
use crate::rehearsal::course::Work;
use crate::rehearsal::{RunTime, say};

/// In the order of [`Work::ALL`].
const FILLS: [Fill; 6] = [Fill::White, Fill::Middle, Fill::Dark, Fill::Light, Fill::Slanted, Fill::Crossed];

/// A bar for each run, of what its time goes into, as likely; a whisker from the shortest to the longest. Or, for one run, a
/// bar for each stage from where it begins.
pub(crate) fn timeline(id: &str, runs: &[RunTime], longest: f64) -> String {
    match runs {
        [one] => stages(id, one, longest),
        several => bars(id, several, longest),
    }
}

const LEFT: f64 = 170.0;
const RIGHT: f64 = 740.0;
const ROW: f64 = 24.0;

fn bars(id: &str, runs: &[RunTime], longest: f64) -> String {
    let rows = runs.len() as f64;
    let (top, bottom) = (78.0, 78.0 + rows * ROW);
    let mut canvas = Canvas::new(id, 760.0, bottom + 46.0);
    let latest = runs.iter().map(|run| run.lasts.high).fold(longest, f64::max) / 3600.0;
    let scale = Scale::linear(latest, LEFT, RIGHT);
    legend(&mut canvas);
    axis(&mut canvas, &scale, top, bottom, longest);
    for (index, run) in runs.iter().enumerate() {
        let y = top + index as f64 * ROW + 4.0;
        canvas.text(LEFT - 8.0, y + 12.0, Hold::End, &format!("{}  {}  {}", run.run, run.specimen, run.model));
        let mut from = 0.0;
        for ((_, _, likely), fill) in run.work.iter().zip(FILLS) {
            let to = from + likely / 3600.0;
            if *likely > 0.0 {
                canvas.bar(scale.at(from), y, scale.at(to) - scale.at(from), ROW - 8.0, fill);
            }
            from = to;
        }
        let (low, high) = (scale.at(run.lasts.low / 3600.0), scale.at(run.lasts.high / 3600.0));
        let middle = y + (ROW - 8.0) / 2.0;
        // Longer than the bar is high, so that the stroke shows on dark parts of it too.
        for (end, half) in [(low, 11.0), (high, 7.0)] {
            canvas.line((end, middle - half), (end, middle + half), Stroke::Solid);
        }
        canvas.line((scale.at(run.likely / 3600.0), middle), (high, middle), Stroke::Solid);
    }
    let described = runs.iter().map(|run| format!("{} {}", run.run, say::times(run.lasts))).collect::<Vec<_>>();
    canvas.finish("How long each run takes", &format!("Hours on the bench. {}.", described.join("; ")))
}

fn legend(canvas: &mut Canvas) {
    let mut x = 10.0;
    for (work, fill) in Work::ALL.iter().zip(FILLS) {
        canvas.bar(x, 8.0, 22.0, 14.0, fill);
        canvas.text(x + 27.0, 19.5, Hold::Start, work.words());
        x += 44.0 + 6.6 * work.words().chars().count() as f64;
    }
    canvas.text(10.0, 42.0, Hold::Start, "Bar: most likely. Upright strokes: everything quick, everything slow.");
}

fn axis(canvas: &mut Canvas, scale: &Scale, top: f64, bottom: f64, longest: f64) {
    for (value, words) in scale.marks() {
        let x = scale.at(value);
        canvas.line((x, top), (x, bottom), Stroke::Grid);
        canvas.text(x, bottom + 15.0, Hold::Middle, &words);
    }
    canvas.line((LEFT, bottom), (RIGHT, bottom), Stroke::Axis);
    canvas.text(f64::midpoint(LEFT, RIGHT), bottom + 34.0, Hold::Middle, "hours");
    let day = longest / 3600.0;
    if scale.holds(day) {
        canvas.line((scale.at(day), top - 6.0), (scale.at(day), bottom), Stroke::Dashed);
        canvas.label(scale.at(day), top - 9.0, Hold::Middle, &format!("longest day {}", say::time(longest)));
    }
}

fn stages(id: &str, run: &RunTime, longest: f64) -> String {
    let rows = run.stages.len() as f64;
    let (top, bottom) = (40.0, 40.0 + rows * ROW);
    let mut canvas = Canvas::new(id, 760.0, bottom + 46.0);
    let latest = run.lasts.high.max(longest) / 3600.0;
    let left = 270.0;
    let scale = Scale::linear(latest, left, RIGHT);
    canvas.text(10.0, 18.0, Hold::Start, "Bar: most likely. Stroke: from its earliest begin to its latest end.");
    axis(&mut canvas, &scale, top, bottom, longest);
    for (index, stage) in run.stages.iter().enumerate() {
        let y = top + index as f64 * ROW + 4.0;
        let middle = y + (ROW - 8.0) / 2.0;
        canvas.text(left - 8.0, y + 12.0, Hold::End, &stage.title);
        let latest = (stage.begins_between.high + stage.lasts.high) / 3600.0;
        canvas.line((scale.at(stage.begins_between.low / 3600.0), middle), (scale.at(latest), middle), Stroke::Solid);
        let (from, to) = (stage.begins / 3600.0, (stage.begins + stage.likely) / 3600.0);
        canvas.bar(scale.at(from), y, (scale.at(to) - scale.at(from)).max(1.5), ROW - 8.0, Fill::Middle);
    }
    let described: Vec<String> = run
        .stages
        .iter()
        .map(|stage| format!("{} from {} for {}", stage.title, say::time(stage.begins), say::times(stage.lasts)))
        .collect();
    canvas.finish(&format!("How {} goes, stage by stage", run.run), &format!("{}.", described.join("; ")))
}
