#include "weigh/picture.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "text/quantity.hpp"
#include "text/utf8.hpp"
#include "weigh/scale.hpp"

namespace lw::weigh {
namespace {

// Far apart in lightness too, so that no kind of colour blindness joins two of them.
constexpr const char* kBlue = "#004488";
constexpr const char* kSky = "#99bbdd";
constexpr const char* kYellow = "#ddaa33";
constexpr const char* kRed = "#bb5566";
constexpr const char* kInk = "#000000";

constexpr double kLeft = 30, kRight = 30, kWidth = 960, kRow = 18;
constexpr std::size_t kMostSets = 12;  // of a window; the rest is said

std::string escaped(const std::string& text) {
  std::string safe;
  for (const char each : text) {
    if (each == '<')
      safe += "&lt;";
    else if (each == '>')
      safe += "&gt;";
    else if (each == '&')
      safe += "&amp;";
    else if (each == '"')
      safe += "&quot;";
    else
      safe += each;
  }
  return safe;
}

class Drawing {
 public:
  Drawing(WeighedRoom& weighed, model::InputId id)
      : weighed_(weighed), id_(id), scale_(weighed.room().inputs[model::index(id)]) {}

  std::string text() {
    reach();
    title();
    std::vector<const Place*> shown;
    for (const Place& place : weighed_.places())
      if (place.scale == id_ && place.low <= place.high) shown.push_back(&place);
    for (const Place* const place : shown) {
      words(x(place->band.low_pg) - 8, x(place->band.low_pg) - 8, title_of(*place));
      bar(*place);
    }
    if (shown.empty()) label(kLeft, y_ += kRow, "no window of this scale can be shown", kInk);
    gaps();
    axis();
    for (const Place* const place : shown)
      if (place->bounded && !weighed_.window(*place).follows) close_up(*place);
    legend();
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" "
        "font-family=\"sans-serif\" font-size=\"12\">\n<title>{2}</title>\n<rect width=\"{0}\" "
        "height=\"{1}\" "
        "fill=\"#ffffff\"/>\n{3}</svg>\n",
        kWidth, y_ + 10, escaped("Scale " + scale_.name + " of " + weighed_.room().title), out_);
  }

 private:
  /// The axis ends a little above the last edge or set that is shown, and not at a capacity that nothing
  /// comes near.
  void reach() {
    std::int64_t most = 0;
    for (const Place& place : weighed_.places()) {
      if (place.scale != id_ || place.low > place.high) continue;
      most = std::max(
          most, times_up(place.bounded ? place.high : std::max<std::int64_t>(place.low, 0), scale_.division));
    }
    const std::int64_t capacity = times_up(most_shown(scale_), scale_.division);
    end_ = std::min(capacity, add_up(most, most / 4));
    if (end_ <= 0) end_ = std::max<std::int64_t>(capacity, 1);
  }

  double x(std::int64_t pg) const {
    const double part = static_cast<double>(std::clamp(pg, from_, end_) - from_) /
                        static_cast<double>(std::max<std::int64_t>(end_ - from_, 1));
    return kLeft + part * (kWidth - kLeft - kRight);
  }

  void label(double x, double y, const std::string& text, const char* colour, const char* anchor = "start") {
    out_ += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" fill=\"{}\" text-anchor=\"{}\">{}</text>\n", x, y,
                        colour, anchor, escaped(text));
  }
  static double width_of(const std::string& text) {
    return 6.6 * static_cast<double>(count_code_points(text));
  }
  /// Words in a row of their own, beside a mark that reaches from `from` to `to`: to its right, or to its
  /// left where the picture ends, or under it; what is longer than the picture is wide goes on in further
  /// rows.
  void words(double from, double to, std::string text) {
    y_ += kRow;
    constexpr double kOff = 8;
    const double width = width_of(text);
    if (to + kOff + width <= kWidth) return label(to + kOff, y_ - 4, text, kInk);
    if (from - kOff >= width) return label(from - kOff, y_ - 4, text, kInk, "end");
    if (to > from) y_ += kRow - 4;
    while (width_of(text) > kWidth - kLeft - kRight) {
      const auto most = static_cast<std::size_t>((kWidth - kLeft - kRight) / 6.6);
      std::size_t end = text.rfind(' ', most);
      if (end == std::string::npos || end < 4) end = text.find(' ', 4);
      if (end == std::string::npos) break;
      label(kLeft, y_ - 4, text.substr(0, end), kInk);
      text = "   " + text.substr(end + 1);
      y_ += kRow - 4;
    }
    label(std::min(std::max(to, kLeft), std::max(kWidth - width_of(text), 4.0)), y_ - 4, text, kInk);
  }
  void box(double from, double to, double y, double height, const char* fill, double opacity,
           const char* stroke) {
    out_ += fmt::format(
        "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"{}\" "
        "fill-opacity=\"{}\" stroke=\"{}\"/>\n",
        from, y, std::max(to - from, 1.0), height, fill, opacity, stroke);
  }

  void title() {
    static const char* const kClasses[] = {"", ", class I", ", class II", ", class III", ", class IIII"};
    y_ = 22;
    const std::string text =
        fmt::format("{}: {}, to {} in steps of {}{}", weighed_.room().title, scale_.name, mass(scale_.to),
                    mass(scale_.division), kClasses[scale_.accuracy_class]);
    // Smaller where the room's title is long.
    const double size = std::min(15.0, 15 * (kWidth - kLeft - kRight) / (width_of(text) * 15 / 12));
    out_ += fmt::format("<text x=\"{}\" y=\"{}\" fill=\"{}\" font-size=\"{:.1f}\">{}</text>\n", kLeft, y_,
                        kInk, size, escaped(text));
    y_ += 8;
  }

  std::string title_of(const Place& place) const {
    const model::Window& window = weighed_.window(place);
    std::string text =
        fmt::format("{} of {}: {} to {}", window.name, weighed_.room().props[model::index(place.prop)].name,
                    place.low < 0 ? "anything" : mass(times_up(place.low, scale_.division)),
                    mass(times_up(place.high, scale_.division)));
    if (place.intended) text += ", means " + weighed_.words(*place.intended);
    if (place.intended && place.further_pg != 0) text += " + " + mass(place.further_pg);
    return text;
  }

  /// The window, and what may be read on either side of its edges.
  void bar(const Place& place) {
    const std::int64_t reach = weighed_.reach_pg(place);
    box(x(place.band.low_pg), x(place.band.high_pg), y_, 12, kSky, 0.45, kBlue);
    for (const std::int64_t edge : {place.band.low_pg, place.band.high_pg}) {
      if (edge <= from_ || edge >= end_) continue;
      box(x(edge - reach), x(edge + reach), y_, 12, kYellow, 0.6, "none");
    }
    y_ += 16;
  }

  /// The window by itself on an axis of its own, and the sets that land in it or come near.
  void close_up(const Place& place) {
    const WeighedRoom::Landings landing = weighed_.landings(place, Which::minimal, kMostSets);
    const WeighedRoom::Landings near = weighed_.near(place, kMostSets);
    const std::int64_t whole = end_ - from_;
    const std::int64_t beside =
        std::max(2 * weighed_.reach_pg(place), (place.band.high_pg - place.band.low_pg) / 4);
    from_ = std::max<std::int64_t>(0, place.band.low_pg - beside);
    end_ = add_up(place.band.high_pg, beside);
    for (const auto* const some : {&landing, &near})
      for (const Landing& set : some->sets) {
        from_ = std::min(from_, set.load.nominal_pg);
        end_ = std::max(end_, set.load.nominal_pg);
      }
    y_ += 12;
    out_ += fmt::format("<line x1=\"{}\" x2=\"{}\" y1=\"{}\" y2=\"{}\" stroke=\"{}\"/>\n", kLeft,
                        kWidth - kRight, y_, y_, kSky);
    const std::int64_t times = whole / std::max<std::int64_t>(end_ - from_, 1);
    words(kLeft - 8, kLeft - 8,
          title_of(place) + (times > 1 ? fmt::format(", {} times as large", times) : ""));
    bar(place);
    sets(place, landing, "and more that land");
    sets(place, near, "and more that come near");
    if (landing.sets.empty() && near.sets.empty() && landing.whole && near.whole)
      label(kLeft, y_ += kRow - 4,
            weighed_.things().empty() ? "no thing of the room has a mass" : "no set lands or comes near",
            kInk);
    axis();
    from_ = 0;
    end_ = whole;
  }

  void sets(const Place& place, const WeighedRoom::Landings& landings, const char* more) {
    for (const Landing& landing : landings.sets) {
      const Kinship kin = weighed_.kinship(place, landing.parts);
      const bool near = landing.grade == Grade::near;
      const bool meant = place.intended && (kin == Kinship::intended || kin == Kinship::more);
      const char* colour = !place.intended ? kBlue : meant ? kBlue : near ? kYellow : kRed;
      const double at = x(landing.load.nominal_pg), y = y_ + kRow - 8;
      // Its tolerance as a line, what it is as a mark: a disc meant, a cross not, a ring near or of a plain
      // target.
      out_ += fmt::format(
          "<line x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\" "
          "stroke-width=\"2\"/>\n",
          x(landing.load.low_pg), x(landing.load.high_pg), y, y, colour);
      if (place.intended && !meant && !near)
        out_ += fmt::format(
            "<path d=\"M{:.1f} {:.1f}l8 8m0 -8l-8 8\" stroke=\"{}\" stroke-width=\"2\" fill=\"none\"/>\n",
            at - 4, y - 4, colour);
      else
        out_ += fmt::format(
            "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"4\" fill=\"{}\" stroke=\"{}\" stroke-width=\"2\"/>\n",
            at, y, meant ? colour : "#ffffff", colour);
      std::string text = weighed_.words(landing.parts) + " " + mass(landing.load.nominal_pg);
      if (landing.load.high_pg != landing.load.nominal_pg)
        text += " ± " + mass(landing.load.high_pg - landing.load.nominal_pg);
      text += near              ? (meant ? ", meant, near" : ", near")
              : !place.intended ? ""
              : meant           ? ", meant"
                                : ", not meant";
      words(std::min(x(landing.load.low_pg), at - 4), std::max(x(landing.load.high_pg), at + 4), text);
    }
    if (!landings.whole)
      words(kLeft - 8, kLeft - 8, fmt::format("{}, which `latchwork weigh --all` lists", more));
  }

  /// Loads on the axis that are in no window of any prop.
  void gaps() {
    std::vector<std::pair<std::int64_t, std::int64_t>> covered;
    for (const Place& place : weighed_.places())
      if (place.scale == id_ && place.low <= place.high)
        covered.emplace_back(place.band.low_pg, place.band.high_pg);
    std::sort(covered.begin(), covered.end());
    const Band bare = loads_of(0, (scale_.empty_below - 1) / scale_.division, scale_.division);
    std::int64_t at = bare.high_pg + 1;
    y_ += 10;
    bool any = false;
    const auto gap = [&](std::int64_t to) {
      if (to - at < scale_.division / 2) return;
      if (!any) y_ += kRow;
      any = true;
      out_ += fmt::format(
          "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"8\" fill=\"none\" stroke=\"{}\" "
          "stroke-dasharray=\"3 2\"/>\n",
          x(at), y_, std::max(x(to) - x(at), 1.0), kInk);
    };
    for (const auto& [low, high] : covered) {
      gap(std::min(low, end_));
      at = std::max(at, add_up(high, 1));
      if (at >= end_) break;
    }
    if (at < end_) gap(end_);
    if (any) {
      label(kLeft, y_ - 4, "in no window:", kInk);
      y_ += 10;
    }
  }

  void axis() {
    y_ += 16;
    out_ += fmt::format("<line x1=\"{}\" x2=\"{}\" y1=\"{}\" y2=\"{}\" stroke=\"{}\"/>\n", kLeft,
                        kWidth - kRight, y_, y_, kInk);
    // Steps of 1, 2 or 5 times a power of ten of the gram or its parts: 4 to 10 of them.
    std::int64_t step = 1;
    for (int n = 0; (end_ - from_) / step > 10; ++n)
      step = times_up(step, n % 3 == 1 ? 5 : 2) / (n % 3 == 1 ? 2 : 1);
    for (std::int64_t at = (from_ + step - 1) / step * step; at <= end_; at = add_up(at, step)) {
      out_ += fmt::format("<line x1=\"{0:.1f}\" x2=\"{0:.1f}\" y1=\"{1}\" y2=\"{2}\" stroke=\"{3}\"/>\n",
                          x(at), y_, y_ + 5, kInk);
      label(x(at), y_ + 18, mass(at), kInk, "middle");
      if (step == 0) break;
    }
    y_ += 30;
  }

  void legend() {
    y_ += 8;
    double at = kLeft;
    const auto entry = [&](const std::string& mark, const std::string& words) {
      out_ += mark;
      label(at + 20, y_ + 4, words, kInk);
      at += 34 + width_of(words);
    };
    entry(fmt::format("<rect x=\"{}\" y=\"{}\" width=\"14\" height=\"10\" fill=\"{}\" fill-opacity=\"0.45\" "
                      "stroke=\"{}\"/>\n",
                      at, y_ - 5, kSky, kBlue),
          "window");
    entry(
        fmt::format("<rect x=\"{}\" y=\"{}\" width=\"14\" height=\"10\" fill=\"{}\" fill-opacity=\"0.6\"/>\n",
                    at, y_ - 5, kYellow),
        "own error and a division, either way");
    entry(fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"4\" fill=\"{}\"/>\n", at + 7, y_, kBlue),
          "set that is meant");
    entry(fmt::format("<path d=\"M{} {}l8 8m0 -8l-8 8\" stroke=\"{}\" stroke-width=\"2\"/>\n", at + 3, y_ - 4,
                      kRed),
          "set that is not");
    entry(fmt::format(
              "<circle cx=\"{}\" cy=\"{}\" r=\"4\" fill=\"#ffffff\" stroke=\"{}\" stroke-width=\"2\"/>\n",
              at + 7, y_, kYellow),
          "near, or of a plain target");
    y_ += 10;
  }

  WeighedRoom& weighed_;
  model::InputId id_;
  const model::Input& scale_;
  std::int64_t from_ = 0, end_ = 1;  // pg at the ends of the axis that is drawn on
  double y_ = 0;
  std::string out_;
};

}  // namespace

std::string picture(WeighedRoom& weighed, model::InputId scale) { return Drawing(weighed, scale).text(); }

}  // namespace lw::weigh
