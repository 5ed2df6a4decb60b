// Braces that do not pair up, mended before the grammar reads them: see read.hpp.
//
// The grammar cannot tell where a `}` is missing: it would read the rest of the file into the wrong braces
// and report what is right. The layout can: it never matters to what a room means, but people indent what
// they write. So each statement that begins a line is looked at alone; where its braces do not pair up, its
// indentation decides what is missing or too many, and one finding says so. A statement that pairs up is
// never touched. Time is linear: a statement that needs many repairs is closed at its end. Tests:
// tests/unit/syntax/recovery_test.cpp.
#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "syntax/option_table.hpp"
#include "syntax/read.hpp"

namespace lw::syntax {
namespace {

using namespace grammar;

constexpr long kCareful = 8;  // repairs of one statement that look at its layout

// Words that begin a statement and nothing else.
bool begins_statement(Token token) {
  switch (token) {
    case w_language:
    case w_use:
    case w_room:
    case w_board:
    case w_controller:
    case w_link:
    case w_thing:
    case w_scale:
    case w_gauge:
    case w_contact:
    case w_button:
    case w_reader:
    case w_keypad:
    case w_signal:
    case w_lamp:
    case w_relay:
    case w_motor:
    case w_lock:
    case w_voice:
    case w_clip:
    case w_cue:
    case w_design:
    case w_prop:
    case w_chain:
    case w_promise:
    case w_rehearsal:
      return true;
    default:
      return false;
  }
}

bool begins_action_only(Token token) {
  switch (token) {
    case w_play:
    case w_quiet:
    case w_start:
    case w_stop:
    case w_add:
    case w_take:
    case w_set:
    case w_send:
      return true;
    default:
      return false;
  }
}

struct Edit {
  std::size_t at = 0;  // a token is put in before this one, or this one is dropped
  Token put = end_of_file;
};

struct Opener {
  std::size_t at = 0;
  std::uint32_t indent = 0;  // of the line it stands in
  std::uint32_t line = 0;
  std::optional<std::uint32_t> content;  // the indent of the first line in it
};

class Balance {
 public:
  Balance(Tokens& tokens, Mistakes& mistakes) : tokens_(tokens), mistakes_(mistakes) {}

  void run() {
    const std::size_t size = tokens_.size();
    std::size_t begin = 0;
    long depth = 0;
    bool paired = true;
    for (std::size_t at = 0; at <= size; ++at) {
      const bool end = at == size || (at > begin && begins_region(at, begin, depth));
      if (end) {
        if (!paired || depth != 0) mend(begin, at);
        begin = at;
        depth = 0;
        paired = true;
      }
      const Token token = tokens_.kind(at);
      if (token == open_brace) ++depth;
      if (token == close_brace && --depth < 0) paired = false;
    }
    apply();
  }

 private:
  std::uint32_t indent(std::size_t at) const { return tokens_.indent(at); }
  bool first_on_line(std::size_t at) const { return tokens_.has(at, Tokens::kFirstOnLine); }

  // A statement that begins a line begins anew, unless it is indented into the braces that are open, or its
  // word says what a design takes.
  bool begins_region(std::size_t at, std::size_t region, long depth) const {
    if (!first_on_line(at) || !begins_statement(tokens_.kind(at))) return false;
    if (tokens_.kind(at - 1) == comma_ || tokens_.kind(at - 1) == w_takes) return false;
    return depth <= 0 || indent(at) <= indent(region);
  }

  void mend(std::size_t begin, std::size_t end) {
    drop_doubled_openers(begin, end);
    long net = 0;
    for (std::size_t at = begin; at < end; ++at) {
      if (is_dropped(at)) continue;
      if (tokens_.kind(at) == open_brace) ++net;
      if (tokens_.kind(at) == close_brace) --net;
    }
    if (net < 0) net += put_openers(begin, end, -net);
    while (net < 0 && net >= -kCareful) {
      const std::optional<std::size_t> spare = spare_closer(begin, end);
      if (!spare) break;
      drop(*spare);
      say(*spare, *spare + 1, spare_close(1));
      ++net;
    }
    close_all(begin, end, net);
  }

  // `{ {` is never right.
  void drop_doubled_openers(std::size_t begin, std::size_t end) {
    long net = 0;
    for (std::size_t at = begin; at < end; ++at) {
      if (tokens_.kind(at) == open_brace) ++net;
      if (tokens_.kind(at) == close_brace) --net;
    }
    for (std::size_t at = begin + 1; at < end && net > 0; ++at) {
      if (tokens_.kind(at) != open_brace || tokens_.kind(at - 1) != open_brace) continue;
      const std::size_t first = at;
      while (at < end && tokens_.kind(at) == open_brace && net > 0) {
        drop(at);
        --net;
        ++at;
      }
      say(first, at, spare_open());
    }
  }

  // The headers that want braces and have none; gives how many it put in.
  long put_openers(std::size_t begin, std::size_t end, long most) {
    long put = 0;
    std::size_t rule = end;  // a `when` or `after` whose actions have not come
    const bool rehearsal = tokens_.kind(begin) == w_rehearsal;  // where `after` begins a line of deeds
    std::uint32_t rule_indent = 0;
    std::uint32_t line_indent = 0;
    for (std::size_t at = begin; at < end && put < most; ++at) {
      const Token token = tokens_.kind(at);
      const bool action = begins_action_only(token) || token == w_keep;
      if (first_on_line(at)) {
        line_indent = indent(at);
        if (!action || line_indent <= rule_indent) rule = end;
      }
      if (token == open_brace || token == w_state) rule = end;
      if ((token == w_when || token == w_after) && !rehearsal) {
        rule = at;
        rule_indent = line_indent;
      }
      std::optional<std::size_t> missing = header_without_braces(at, end);
      if (!missing && rule != end && action && at > rule + 1 && tokens_.kind(at - 1) != comma_) {
        missing = at;
        rule = end;
      }
      if (!missing) continue;
      put_in(*missing, open_brace);
      say(*missing - 1, *missing, missing_open(shown(*missing - 1)));
      ++put;
    }
    return put;
  }

  // Of a header at `at` that goes on without the `{` that belongs behind it: where that should stand.
  std::optional<std::size_t> header_without_braces(std::size_t at, std::size_t end) const {
    const auto kind = [this, end](std::size_t i) { return i < end ? tokens_.kind(i) : end_of_file; };
    const auto word = [&kind](std::size_t i) { return is_word(kind(i)); };
    std::size_t stop = 0;
    bool must = true;
    const bool named = word(at + 1);
    switch (tokens_.kind(at)) {
      case w_state:
        if (at > 0 && tokens_.kind(at - 1) == w_every) return std::nullopt;
        if (!named) return std::nullopt;
        stop = at + 2;
        if (kind(stop) == w_start) ++stop;
        if (kind(stop) == w_goal) ++stop;
        break;
      case w_enter:
      case w_leave:
      case w_chain:
        stop = at + 1;
        break;
      case w_room:
      case w_rehearsal:
        if (kind(at + 1) != text_) return std::nullopt;
        stop = at + 2;
        break;
      case w_board:
      case w_design:
        if (!named) return std::nullopt;
        stop = at + 2;
        break;
      case w_in:
        stop = at + 2;
        if (kind(at + 1) == w_every) stop = at + 3;
        while (kind(stop) == comma_ && word(stop + 1)) stop += 2;
        break;
      case w_prop:
        if (kind(at + 2) == w_on) {
          stop = at + 4;
        } else if (kind(at + 2) == w_is && kind(at + 4) == w_on) {
          stop = at + 6;
          must = false;
        } else {
          return std::nullopt;
        }
        break;
      case w_controller:
        if (kind(at + 2) != w_is) return std::nullopt;
        stop = at + 4;
        must = false;
        break;
      case w_thing:
        if (!named) return std::nullopt;
        stop = at + 2;
        if (kind(stop) == quantity_) ++stop;
        if (kind(stop) == plus_minus) stop += 2;
        must = false;
        break;
      case w_link:
        if (kind(at + 2) != w_joins) return std::nullopt;
        stop = at + 4;
        while (kind(stop) == comma_ && word(stop + 1)) stop += 2;
        must = false;
        break;
      case w_scale:
      case w_gauge:
      case w_contact:
      case w_button:
      case w_reader:
      case w_keypad:
      case w_lamp:
      case w_relay:
      case w_motor:
      case w_lock:
      case w_voice:
        if (!named) return std::nullopt;
        stop = at + 2;
        if (kind(stop) == w_to) stop += 2;
        if (kind(stop) != w_at) return std::nullopt;
        stop += 4;
        if (kind(stop) == w_to) stop += 2;
        must = false;
        break;
      default:
        return std::nullopt;
    }
    if (stop >= end || kind(stop) == open_brace) return std::nullopt;
    // Braces the wrong way round are not mended by more of them.
    if (kind(stop) == close_brace && kind(stop + 1) == open_brace) return std::nullopt;
    // Where braces may be left out, a word behind it in its line was meant to stand in them, or, in the next,
    // an option of its own.
    const std::optional<ast::OptionKind> option = option_of(kind(stop));
    const bool option_of_it = option && takes(tokens_.kind(at), *option);
    const bool goes_on =
        first_on_line(stop) ? option_of_it && indent(stop) > indent(at) : is_name(kind(stop)) || option_of_it;
    if (!must && !goes_on) return std::nullopt;
    if (must && !goes_on && !is_word(kind(stop)) && kind(stop) != close_brace) return std::nullopt;
    return stop;
  }

  // The first `}` that the layout shows to be one too many.
  std::optional<std::size_t> spare_closer(std::size_t begin, std::size_t end) const {
    std::vector<Opener> open;
    std::optional<std::size_t> last_closer;
    std::uint32_t line = 0;
    std::uint32_t line_indent = indent(begin);
    const std::uint32_t base = line_indent;
    for (std::size_t at = begin; at < end; ++at) {
      if (first_on_line(at)) {
        ++line;
        line_indent = indent(at);
      }
      const bool first = first_on_line(at) && at > begin;
      if (puts_opener(at)) open.push_back({at, line_indent, line, std::nullopt});
      if (is_dropped(at)) continue;
      const Token token = tokens_.kind(at);
      if (token == close_brace) {
        if (open.empty()) return at;
        if (first && open.back().indent != line_indent && open.back().line != line &&
            std::none_of(open.begin(), open.end(),
                         [&](const Opener& o) { return o.indent == line_indent; })) {
          return at;
        }
        open.pop_back();
        last_closer = at;
        continue;
      }
      if (first && last_closer && *last_closer + 1 == at) {
        // A line that stands deeper than the braces that are open: one was closed too early.
        if (open.empty() && line_indent > base) return last_closer;
        if (!open.empty() && open.back().content && line_indent > *open.back().content) return last_closer;
      }
      if (first && !open.empty() && !open.back().content) open.back().content = line_indent;
      if (token == open_brace) open.push_back({at, line_indent, line, std::nullopt});
    }
    return std::nullopt;
  }

  // Closes what is open where the layout says so, the rest at the end; drops what closes nothing.
  void close_all(std::size_t begin, std::size_t end, long net) {
    std::vector<Opener> open;
    std::uint32_t line = 0;
    std::uint32_t line_indent = indent(begin);
    std::size_t spare_begin = end;
    std::size_t spare_end = end;
    const auto flush_spare = [&] {
      if (spare_begin != end) say(spare_begin, spare_end, spare_close(spare_end - spare_begin));
      spare_begin = end;
    };
    for (std::size_t at = begin; at < end; ++at) {
      const bool first = first_on_line(at) && at > begin;
      if (first) {
        ++line;
        line_indent = indent(at);
      }
      if (puts_opener(at)) open.push_back({at, line_indent, line, std::nullopt});
      if (is_dropped(at)) continue;
      const Token token = tokens_.kind(at);
      if (first && net > 0) {
        std::size_t count = 0;
        const auto too_deep = [&] {
          if (open.empty() || open.back().line == line) return false;
          // A closing brace stands as deep as what it closes; all else deeper.
          return token == close_brace ? open.size() > 1 && open.back().indent > line_indent
                                      : open.back().indent >= line_indent;
        };
        Token of = end_of_file;
        while (net > 0 && too_deep()) {
          of = word_before(open.back().at);
          put_in(at, close_brace);
          open.pop_back();
          --net;
          ++count;
        }
        if (count > 0)
          say(at - 1, at, missing_close(count, of == end_of_file ? std::string_view() : written(of)));
      }
      if (token == open_brace) open.push_back({at, line_indent, line, std::nullopt});
      if (token != close_brace) continue;
      if (!open.empty()) {
        open.pop_back();
      } else {
        drop(at);
        if (spare_begin == end || spare_end != at) {
          flush_spare();
          spare_begin = at;
        }
        spare_end = at + 1;
      }
    }
    flush_spare();
    if (open.empty()) return;
    const Token of = word_before(open.back().at);
    say(end - 1, end, missing_close(open.size(), of == end_of_file ? std::string_view() : written(of)));
    for (std::size_t i = 0; i < open.size(); ++i) put_in(end, close_brace);
  }

  // The word that begins what these braces belong to, on their line; end_of_file if there is none.
  Token word_before(std::size_t opener) const {
    for (std::size_t at = opener; at > 0;) {
      --at;
      const Token token = tokens_.kind(at);
      if (token == open_brace || token == close_brace) break;
      if (begins_statement(token) || token == w_state || token == w_in || token == w_enter ||
          token == w_leave || token == w_when || token == w_after || token == w_sequence) {
        return token;
      }
      if (first_on_line(at)) break;
    }
    return end_of_file;
  }

  std::string shown(std::size_t at) const {
    const std::string_view text = tokens_.written(at);
    return "`" + std::string(text.substr(0, text.size() > 40 ? 0 : text.size())) + "`";
  }
  void say(std::size_t begin, std::size_t end, Wording wording) {
    mistakes_.say(tokens_.span(begin, end), std::move(wording));
  }
  void put_in(std::size_t at, Token token) {
    edits_.push_back({at, token});
    if (token != open_brace) return;
    if (opener_before_.empty()) opener_before_.resize(tokens_.size());
    opener_before_[at] = true;
  }
  void drop(std::size_t at) {
    if (dropped_.empty()) dropped_.resize(tokens_.size());
    dropped_[at] = true;
  }
  bool is_dropped(std::size_t at) const { return !dropped_.empty() && dropped_[at]; }
  bool puts_opener(std::size_t at) const { return !opener_before_.empty() && opener_before_[at]; }

  void apply() {
    if (edits_.empty() && dropped_.empty()) return;
    std::stable_sort(edits_.begin(), edits_.end(), [](const Edit& a, const Edit& b) { return a.at < b.at; });
    Tokens out = tokens_;
    out.kinds.clear();
    out.places.clear();
    out.flags.clear();
    std::size_t edit = 0;
    for (std::size_t at = 0; at <= tokens_.size(); ++at) {
      for (; edit < edits_.size() && edits_[edit].at == at; ++edit) {
        const std::uint32_t place = at == 0 ? 0 : tokens_.places[at - 1].end;
        out.push(edits_[edit].put, {place, place}, Tokens::kReported);
      }
      if (at < tokens_.size() && !is_dropped(at))
        out.push(tokens_.kind(at), tokens_.places[at], tokens_.flags[at]);
    }
    tokens_ = std::move(out);
  }

  Tokens& tokens_;
  Mistakes& mistakes_;
  std::vector<Edit> edits_;
  std::vector<bool> dropped_;
  std::vector<bool> opener_before_;
};

}  // namespace

void balance(Tokens& tokens, Mistakes& mistakes) { Balance(tokens, mistakes).run(); }

}  // namespace lw::syntax
