// The sorted picture of all settings. Colours, marks and type as everywhere in the program: ink on
// paper, the class colour only where the interval leaves out zero, and a label that says the same.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/missing.h"
#include "base/text.h"
#include "contrast/robustness.h"

namespace hearwood {

namespace {

constexpr double kWidth = 960, kLeft = 190, kRight = 24, kTop = 70, kCurve = 300, kRow = 15;
constexpr const char* kPaper = "#fbf9f4";
constexpr const char* kInk = "#1f2a2e";
constexpr const char* kClassA = "#0f6b63";
constexpr const char* kClassB = "#a65312";

/// An estimate in pooled standard deviations, with its interval; ends may be infinite, and are NaN
/// where the estimate is exactly 0, which tells nothing of the scale.
struct Mark {
    const SettingRow* row;
    double g, low, high;
};

std::vector<Mark> marks_of(const Robustness& robustness) {
    std::vector<Mark> marks;
    for (const SettingRow& row : robustness.grid) {
        const ContrastRow& r = row.result;
        if (!r.tested() || is_missing(r.hedges_g)) continue;
        // g and the difference differ by one factor, which takes the interval along.
        const double scale = r.difference != 0 ? r.hedges_g / r.difference : kMissing;
        marks.push_back({&row, r.hedges_g, r.ci_low * scale, r.ci_high * scale});
    }
    std::stable_sort(marks.begin(), marks.end(),
                     [](const Mark& x, const Mark& y) { return x.g < y.g; });
    return marks;
}

class Picture {
  public:
    Picture(const Robustness& robustness) : robustness_(robustness), marks_(marks_of(robustness)) {
        for (const Mark& mark : marks_)
            for (const double value : {mark.g, mark.low, mark.high, 0.0}) {
                if (!std::isfinite(value)) continue;
                low_ = std::min(low_, value);
                high_ = std::max(high_, value);
            }
        if (high_ - low_ < 1e-9) high_ = low_ + 1;
    }

    std::string draw() {
        int rows = 0;
        for (const Factor& factor : robustness_.factors)
            rows += static_cast<int>(factor.levels.size()) + 1;
        const double height = kTop + kCurve + 30 + rows * kRow + 30;
        svg_ = fmt::format(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {1}\" width=\"{0}\" "
            "height=\"{1}\" font-family=\"Georgia, 'Times New Roman', serif\" font-size=\"12\" "
            "fill=\"{2}\" role=\"img\">\n",
            kWidth, height, kInk);
        title();
        svg_ +=
            fmt::format("<rect width=\"{}\" height=\"{}\" fill=\"{}\"/>\n", kWidth, height, kPaper);
        heading();
        axis();
        curve();
        levels();
        return svg_ + "</svg>\n";
    }

  private:
    double x(std::size_t rank) const {
        const double step = (kWidth - kLeft - kRight) / static_cast<double>(marks_.size());
        return kLeft + (static_cast<double>(rank) + 0.5) * step;
    }
    double y(double g) const {
        const double held = std::clamp(g, low_, high_);
        return kTop + kCurve * (high_ - held) / (high_ - low_);
    }
    void text(double at_x, double at_y, const std::string& words, const std::string& more = {}) {
        svg_ += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" {}>{}</text>\n", at_x, at_y, more,
                            escape_html(words));
    }
    void line(double x1, double y1, double x2, double y2, const char* colour, double width,
              double opacity = 1) {
        svg_ += fmt::format(
            "<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\" "
            "stroke-width=\"{}\" stroke-opacity=\"{}\"/>\n",
            x1, y1, x2, y2, colour, width, opacity);
    }

    void title() {
        svg_ += "<title>" + escape_html(robustness_in_words(robustness_)) + "</title>\n";
    }

    void heading() {
        text(16, 26, agreement_in_words(robustness_), "font-size=\"18\"");
        const ContrastRow& declared = robustness_.grid.front().result;
        text(
            16, 46,
            fmt::format("{}, {}: {} minus {}, in standard deviations of sites within a class, with "
                        "its interval; a line is a setting, sorted; the declared one is ringed",
                        robustness_.index, robustness_.window, declared.class_a, declared.class_b));
    }

    /// Three to seven round values.
    void axis() {
        const double span = high_ - low_;
        double step = std::pow(10, std::floor(std::log10(span)));
        while (span / step < 3) step /= 2;
        while (span / step > 7) step *= 2;
        const int first = static_cast<int>(std::ceil(low_ / step));
        const int last = static_cast<int>(std::floor(high_ / step));
        for (int number = first; number <= last; ++number) {
            const double tick = number * step;
            line(kLeft, y(tick), kWidth - kRight, y(tick), kInk, tick == 0 ? 1.2 : 0.4,
                 tick == 0 ? 1 : 0.35);
            text(kLeft - 8, y(tick) + 4, readable_number(tick), "text-anchor=\"end\"");
        }
    }

    void curve() {
        for (std::size_t i = 0; i < marks_.size(); ++i) {
            const Mark& mark = marks_[i];
            const bool clear = mark.row->result.significant();
            const char* colour = !clear ? kInk : mark.g > 0 ? kClassA : kClassB;
            if (!is_missing(mark.low))
                line(x(i), y(mark.low), x(i), y(mark.high), colour, clear ? 1.2 : 0.8,
                     clear ? 0.6 : 0.35);
            svg_ += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{}\" fill=\"{}\"/>\n",
                                x(i), y(mark.g), clear ? 2 : 1.4, colour);
            if (mark.row == &robustness_.grid.front())
                svg_ += fmt::format(
                    "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"7\" fill=\"none\" stroke=\"{}\" "
                    "stroke-width=\"2\"/>\n",
                    x(i), y(mark.g), kInk);
        }
        text(kLeft, kTop + kCurve + 18,
             "coloured: p reaches the level (green above zero, brown below); grey: it does not",
             "font-style=\"italic\"");
    }

    void levels() {
        double row_y = kTop + kCurve + 30;
        for (std::size_t f = 0; f < robustness_.factors.size(); ++f) {
            const Factor& factor = robustness_.factors[f];
            row_y += kRow;
            text(16, row_y, factor.name, "font-weight=\"bold\"");
            for (std::size_t level = 0; level < factor.levels.size(); ++level) {
                row_y += kRow;
                text(kLeft - 8, row_y, factor.levels[level] + (level == 0 ? " *" : ""),
                     "text-anchor=\"end\"");
                for (std::size_t i = 0; i < marks_.size(); ++i)
                    if (marks_[i].row->levels[f] == static_cast<int>(level))
                        line(x(i), row_y - 9, x(i), row_y + 1, kInk, 1);
            }
        }
        text(16, row_y + 22, "* as declared", "font-style=\"italic\"");
    }

    const Robustness& robustness_;
    std::vector<Mark> marks_;
    double low_ = 0, high_ = 0;
    std::string svg_;
};

}  // namespace

std::string robustness_svg(const Robustness& robustness) {
    return Picture(robustness).draw();
}

}  // namespace hearwood
