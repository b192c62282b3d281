//! Plots of figures as line art, drawn by the server: marks and strokes, no colour that says
//! anything. Each stands beside a table of its figures.

use std::fmt::{Error, Write};

use super::svg::escaped;

/// Width of a plot, in its own units: text of 16 is legible on a phone.
const WIDTH: f64 = 480.0;
const LEFT: f64 = 56.0;
const RIGHT: f64 = 464.0;
const TOP: f64 = 16.0;
/// Most marks in one plot; of more, the last are drawn.
pub(super) const MOST_MARKS: usize = 1_000;

/// What a plot says beside its marks.
pub(super) struct Said<'a> {
    /// Name of the plot, also of its elements.
    pub id: &'a str,
    /// What it shows.
    pub title: String,
    /// The same for who cannot see it.
    pub desc: String,
    /// What runs along the foot.
    pub along: String,
    /// What runs up the side.
    pub up: String,
}

fn open(said: &Said<'_>, height: f64) -> String {
    let Said { id, .. } = said;
    format!(
        "<svg class=\"plot\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-desc\"><title id=\"{id}-title\">{}</title>\
         <desc id=\"{id}-desc\">{}</desc>",
        escaped(&said.title),
        escaped(&said.desc)
    )
}

/// A range of figures with the ticks that divide it.
struct Scale {
    from: f64,
    to: f64,
    step: f64,
}

impl Scale {
    /// Over all of these figures, with ends on ticks.
    fn over(figures: impl Iterator<Item = f64>) -> Self {
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for figure in figures {
            least = least.min(figure);
            most = most.max(figure);
        }
        if !(least.is_finite() && most.is_finite()) {
            (least, most) = (0.0, 1.0);
        }
        let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];
        let fits = steps.into_iter().find(|step| (most - least) / step <= 7.0);
        let step = fits.unwrap_or((most - least) / 7.0);
        let from = (least / step).floor() * step;
        let to = (most / step).ceil() * step;
        Self {
            from,
            to: if to > from { to } else { from + step },
            step,
        }
    }

    /// Where a figure lies from one end to the other, 0 to 1.
    fn share(&self, figure: f64) -> f64 {
        (figure - self.from) / (self.to - self.from)
    }

    fn x(&self, figure: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * self.share(figure)
    }

    fn ticks(&self) -> impl Iterator<Item = f64> {
        let (from, to, step) = (self.from, self.to, self.step);
        (0_u32..20)
            .map(move |nth| from + f64::from(nth) * step)
            .take_while(move |at| *at <= to + step * 1e-6)
    }
}

/// Ticks and the words along the foot of a plot.
fn foot(svg: &mut String, scale: &Scale, bottom: f64, along: &str) -> Result<(), Error> {
    write!(
        svg,
        "<path class=\"plot-axis\" d=\"M{LEFT} {bottom:.1}H{RIGHT}\"/>"
    )?;
    for at in scale.ticks() {
        let x = scale.x(at);
        write!(
            svg,
            "<path class=\"plot-axis\" d=\"M{x:.1} {bottom:.1}v6\"/>\
             <text class=\"at-middle\" x=\"{x:.1}\" y=\"{:.1}\">{at}</text>",
            bottom + 22.0
        )?;
    }
    write!(
        svg,
        "<text class=\"at-middle\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
        f64::midpoint(LEFT, RIGHT),
        bottom + 44.0,
        escaped(along)
    )
}

fn last<T>(marks: &[T]) -> &[T] {
    marks
        .get(marks.len().saturating_sub(MOST_MARKS)..)
        .unwrap_or(marks)
}

/// Two figures of the same kind against each other, with the line on which they are equal.
/// `equal`: words beside that line.
///
/// # Errors
/// Never in practice: writing into a text does not fail.
pub(super) fn scatter(said: &Said<'_>, marks: &[(f64, f64)], equal: &str) -> Result<String, Error> {
    const BOTTOM: f64 = 424.0;
    let marks = last(marks);
    // One scale for both: only then does the line of equality run through the corners.
    let scale = Scale::over(marks.iter().flat_map(|(a, b)| [*a, *b]));
    let y = |figure: f64| BOTTOM - (BOTTOM - TOP - 24.0) * scale.share(figure);
    let mut svg = open(said, BOTTOM + 56.0);
    for at in scale.ticks() {
        let y = y(at);
        write!(
            svg,
            "<path class=\"plot-grid\" d=\"M{LEFT} {y:.1}H{RIGHT}\"/>\
             <text class=\"at-end\" x=\"{:.1}\" y=\"{:.1}\">{at}</text>",
            LEFT - 8.0,
            y + 5.0
        )?;
    }
    write!(
        svg,
        "<path class=\"plot-axis\" d=\"M{LEFT} {:.1}V{BOTTOM}\"/><text x=\"0\" y=\"{TOP}\">{}</text>",
        TOP + 24.0,
        escaped(&said.up)
    )?;
    foot(&mut svg, &scale, BOTTOM, &said.along)?;
    write!(
        svg,
        "<path class=\"plot-equal\" d=\"M{:.1} {:.1}L{:.1} {:.1}\"/>\
         <text class=\"at-end\" x=\"{:.1}\" y=\"{TOP}\">{}</text>",
        scale.x(scale.from),
        y(scale.from),
        scale.x(scale.to),
        y(scale.to),
        RIGHT,
        escaped(equal)
    )?;
    for (a, b) in marks {
        write!(
            svg,
            "<circle class=\"plot-mark\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"4\"/>",
            scale.x(*a),
            y(*b)
        )?;
    }
    svg.push_str("</svg>");
    Ok(svg)
}

/// One row of strips.
pub(super) struct Strip {
    /// What it is of, with how many.
    pub label: String,
    /// Its figures.
    pub figures: Vec<f64>,
    /// Lower quarter, median and upper quarter, where there are enough for them.
    pub middle: Option<[f64; 3]>,
}

/// Rows of figures along one scale, each figure a stroke, the middle half of enough of them a bar
/// with the median in it; `zero`: words at the line at nought.
///
/// # Errors
/// As [`scatter`].
pub(super) fn strips(said: &Said<'_>, rows: &[Strip], zero: &str) -> Result<String, Error> {
    const ROW: f64 = 62.0;
    let top = TOP + 12.0;
    let figures = rows.iter().flat_map(|row| last(&row.figures)).copied();
    let scale = Scale::over(figures.chain([0.0]));
    let bottom = top + ROW * rows.len() as f64 + 6.0;
    let mut svg = open(said, bottom + 56.0);
    foot(&mut svg, &scale, bottom, &said.along)?;
    let x = scale.x(0.0);
    let end = if scale.share(0.0) > 0.5 { "at-end" } else { "" };
    write!(
        svg,
        "<path class=\"plot-equal\" d=\"M{x:.1} {:.1}V{bottom:.1}\"/>\
         <text class=\"{end}\" x=\"{x:.1}\" y=\"{TOP}\">{}</text>",
        TOP + 6.0,
        escaped(zero)
    )?;
    for (row, nth) in rows.iter().zip(0_u32..) {
        let label = top + ROW * f64::from(nth) + 20.0;
        let middle = label + 24.0;
        write!(
            svg,
            "<text class=\"plot-label\" x=\"{LEFT}\" y=\"{label:.1}\">{}</text>",
            escaped(&row.label)
        )?;
        if let Some([lower, median, upper]) = row.middle {
            let (from, to) = (scale.x(lower), scale.x(upper));
            write!(
                svg,
                "<rect class=\"plot-half\" x=\"{from:.1}\" y=\"{:.1}\" width=\"{:.1}\" \
                 height=\"24\"/><path class=\"plot-median\" d=\"M{:.1} {:.1}v32\"/>",
                middle - 12.0,
                (to - from).max(1.0),
                scale.x(median),
                middle - 16.0
            )?;
        }
        svg.push_str("<path class=\"plot-stroke\" d=\"");
        for figure in last(&row.figures) {
            write!(svg, "M{:.1} {:.1}v14", scale.x(*figure), middle - 7.0)?;
        }
        svg.push_str("\"/>");
    }
    svg.push_str("</svg>");
    Ok(svg)
}

/// Columns side by side from nought up; each has its name below and its figure above.
///
/// # Errors
/// As [`scatter`].
pub(super) fn columns(said: &Said<'_>, rows: &[(String, f64)]) -> Result<String, Error> {
    const BOTTOM: f64 = 260.0;
    let most = rows.iter().map(|(_, figure)| *figure).fold(0.0, f64::max);
    let most = if most > 0.0 { most } else { 1.0 };
    let mut svg = open(said, BOTTOM + 56.0);
    let wide = (RIGHT - LEFT) / rows.len().max(1) as f64;
    write!(
        svg,
        "<path class=\"plot-axis\" d=\"M{LEFT} {BOTTOM}H{RIGHT}\"/><text x=\"0\" y=\"{TOP}\">{}</text>\
         <text class=\"at-middle\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
        escaped(&said.up),
        f64::midpoint(LEFT, RIGHT),
        BOTTOM + 46.0,
        escaped(&said.along)
    )?;
    for ((name, figure), nth) in rows.iter().zip(0_u32..) {
        let high = (BOTTOM - TOP - 44.0) * figure / most;
        let x = LEFT + wide * f64::from(nth);
        let middle = x + wide / 2.0;
        write!(
            svg,
            "<rect class=\"plot-half\" x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{high:.1}\"/>\
             <text class=\"at-middle\" x=\"{middle:.1}\" y=\"{:.1}\">{figure:.1}</text>\
             <text class=\"at-middle\" x=\"{middle:.1}\" y=\"{:.1}\">{}</text>",
            x + wide * 0.15,
            BOTTOM - high,
            wide * 0.7,
            BOTTOM - high - 6.0,
            BOTTOM + 20.0,
            escaped(name)
        )?;
    }
    svg.push_str("</svg>");
    Ok(svg)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(id: &str) -> Said<'_> {
        Said {
            id,
            title: "Run <times>".to_owned(),
            desc: "All of them".to_owned(),
            along: "planned".to_owned(),
            up: "dived".to_owned(),
        }
    }

    /// By hand: 40 to 52 is covered by 40 to 52 in steps of 2, so that 40 planned lies at the left
    /// edge and 46 in the middle of both sides.
    #[test]
    fn equal_figures_lie_on_the_line() {
        let svg = scatter(&said("s"), &[(40.0, 52.0), (46.0, 46.0)], "as planned").unwrap();
        assert!(svg.contains("cx=\"56.0\" cy=\"40.0\""), "{svg}");
        assert!(svg.contains("cx=\"260.0\" cy=\"232.0\""), "{svg}");
        assert!(svg.contains("d=\"M56.0 424.0L464.0 40.0\""), "{svg}");
        assert!(svg.contains("Run &lt;times&gt;"));
    }

    #[test]
    fn few_figures_have_no_bar_and_every_one_a_stroke() {
        let few = Strip {
            label: "Reef, 3 dives".to_owned(),
            figures: vec![-5.0, 0.0, 5.0],
            middle: None,
        };
        let svg = strips(&said("s"), &[few], "latest").unwrap();
        assert_eq!(svg.matches("plot-half").count(), 0);
        assert_eq!(svg.matches("v14").count(), 3);
        let many = Strip {
            label: "Reef".to_owned(),
            figures: vec![1.0; MOST_MARKS + 7],
            middle: Some([1.0, 1.0, 1.0]),
        };
        let svg = strips(&said("s"), &[many], "latest").unwrap();
        assert_eq!(svg.matches("plot-half").count(), 1);
        assert_eq!(svg.matches("v14").count(), MOST_MARKS);
    }

    #[test]
    fn nothing_to_draw_draws_no_nonsense() {
        for svg in [
            scatter(&said("s"), &[], "e").unwrap(),
            strips(&said("s"), &[], "e").unwrap(),
            columns(&said("s"), &[("1".to_owned(), 0.0)]).unwrap(),
        ] {
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
    }
}
