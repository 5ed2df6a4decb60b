// The one list of findings, held to the rules that its head states.
#include "text/finding.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <string>

using namespace lw;

TEST_CASE("every code is a stable word that is found again") {
  REQUIRE(code_count() > 0);
  for (std::size_t i = 0; i < code_count(); ++i) {
    const auto code = static_cast<Code>(i);
    const std::string name = code_name(code);
    CAPTURE(name);
    CHECK(name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_") == std::string::npos);
    CHECK(code_named(name) == code);
  }
  CHECK(code_named("overlap") == Code::overlap);
  for (const char* unknown : {"", "Overlap", "over lap", "overlapp", "OVERLAP"}) {
    CHECK_FALSE(code_named(unknown).has_value());
  }
}

TEST_CASE("every title is a line and every explanation sentences") {
  for (std::size_t i = 0; i < code_count(); ++i) {
    const auto code = static_cast<Code>(i);
    const std::string title = code_title(code);
    const std::string explanation = code_explanation(code);
    CAPTURE(code_name(code));
    CHECK(title.size() >= 10);
    CHECK(title.size() <= 78);
    CHECK((title[0] == '`' || std::islower(static_cast<unsigned char>(title[0])) != 0));
    CHECK(title.back() != '.');
    CHECK(explanation.size() >= 40);
    CHECK(explanation.back() == '.');
    CHECK(explanation.find("  ") == std::string::npos);
    CHECK(std::count(explanation.begin(), explanation.end(), '`') % 2 == 0);
  }
}

TEST_CASE("the tool never certifies") {
  for (std::size_t i = 0; i < code_count(); ++i) {
    const std::string text =
        std::string(code_title(static_cast<Code>(i))) + code_explanation(static_cast<Code>(i));
    CHECK(text.find("complian") == std::string::npos);
    CHECK(text.find("certif") == std::string::npos);
  }
  CHECK(std::strstr(code_explanation(Code::exit_lock), "local code") != nullptr);
}

TEST_CASE("severities") {
  CHECK(usual_severity(Code::overlap) == Severity::error);
  CHECK(usual_severity(Code::unused_accept) == Severity::warning);
  CHECK(usual_severity(Code::promise_undecided) == Severity::note);
  CHECK(std::string(severity_name(Severity::error)) == "error");
  CHECK(std::string(severity_name(Severity::warning)) == "warning");
  CHECK(std::string(severity_name(Severity::note)) == "note");
}
