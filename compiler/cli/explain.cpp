// `latchwork explain [CODE]`: what a finding means, with a room that has it and one that has not.
#include "report/explain.hpp"

#include <fmt/format.h>

#include "cli/command.hpp"
#include "report/text.hpp"
#include "text/nearest.hpp"
#include "text/utf8.hpp"

namespace lw::cli {
namespace {

std::string nearest_code(const std::string& word) {
  std::vector<std::string_view> known;
  for (std::size_t n = 0; n < code_count(); ++n) known.push_back(code_name(static_cast<Code>(n)));
  return std::string(nearest(word, known));
}

}  // namespace

void add_explain(CLI::App& app, Outcome& outcome) {
  struct ExplainOptions {
    std::string code;
    bool markdown = false;
  };
  auto options = std::make_shared<ExplainOptions>();
  CLI::App* const command =
      app.add_subcommand("explain", "Say what a finding means, with a bad and a good example");
  CLI::Option* const code = command->add_option(
      "CODE", options->code, "The word in brackets after a finding; without it, all are listed");
  command->add_flag("--markdown", options->markdown, "All findings with their examples, as docs/findings.md")
      ->excludes(code);
  command->footer("Lines in which the two examples differ are marked with `>`.");
  command->callback([options, &outcome] {
    const std::size_t width = report::TextStyle{}.width;
    if (options->markdown) {
      fmt::print("{}", report::explanations_page());
    } else if (options->code.empty()) {
      fmt::print("{}", report::explanation_list(width));
    } else if (const auto known = code_named(options->code)) {
      fmt::print("{}", report::explanation(*known, width));
    } else {
      const std::string near = nearest_code(options->code);
      fmt::print(stderr, "latchwork: there is no finding `{}`; {}\n", shown_safely(options->code),
                 near.empty() ? "`latchwork explain` lists those there are" : "there is `" + near + '`');
      outcome.status = kUsage;
    }
  });
}

}  // namespace lw::cli
