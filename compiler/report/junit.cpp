// JUnit XML: see junit.hpp.
#include "report/junit.hpp"

#include <algorithm>

#include "text/utf8.hpp"

namespace lw::report {
namespace {

std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

// U+FFFE and U+FFFF are UTF-8 as good as any, but no characters of XML.
std::string without_no_characters(std::string text) {
  for (const char* const no : {"\xEF\xBF\xBE", "\xEF\xBF\xBF"})
    for (std::size_t at = text.find(no); at != std::string::npos; at = text.find(no, at))
      text.replace(at, 3, no[2] == '\xBE' ? "<U+FFFE>" : "<U+FFFF>");
  return text;
}

std::string attribute(const std::string& text) { return escaped(without_no_characters(shown_safely(text))); }

// Line by line, since a line end within a text is one.
std::string lines(const std::string& text) {
  std::string out;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    out += attribute(text.substr(begin, end - begin)) + '\n';
    begin = end + 1;
  }
  return out;
}

std::string seconds(std::int64_t ms) {
  const std::string part = std::to_string(ms % 1000);
  return std::to_string(ms / 1000) + '.' + std::string(3 - part.size(), '0') + part;
}

void put_failure(std::string& xml, const char* element, const char* type, const JunitCase::Failure& failure) {
  xml += std::string("      <") + element + " message=\"" + attribute(failure.message) + "\" type=\"" + type +
         "\">\n" + lines(failure.text) + "</" + element + ">\n";
}

}  // namespace

std::string to_junit(const JunitSuite& suite) {
  std::int64_t length_ms = 0;
  for (const JunitCase& each : suite.cases) length_ms += each.length_ms;
  const auto count = [&suite](auto member) {
    return std::to_string(
        std::count_if(suite.cases.begin(), suite.cases.end(),
                      [member](const JunitCase& each) { return (each.*member).has_value(); }));
  };
  std::string room = attribute(suite.room);
  if (room.find_first_not_of(' ') == std::string::npos) room = "room";

  std::string xml = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites>\n";
  xml += "  <testsuite name=\"" + room + "\" tests=\"" + std::to_string(suite.cases.size()) +
         "\" failures=\"" + count(&JunitCase::failure) + "\" errors=\"" + count(&JunitCase::error) +
         "\" time=\"" + seconds(length_ms) +
         "\" timestamp=\"1970-01-01T00:00:00\" hostname=\"localhost\" id=\"0\" package=\"latchwork\">\n";
  xml +=
      "    <properties>\n      <property name=\"file\" value=\"" + attribute(suite.file) +
      "\"/>\n      <property name=\"latchwork\" value=\"" + attribute(suite.tool_version) +
      "\"/>\n      <property name=\"time\" value=\"of the room, in virtual seconds\"/>\n    </properties>\n";
  for (const JunitCase& each : suite.cases) {
    xml += "    <testcase name=\"" + attribute(each.name) + "\" classname=\"" + room + "\" time=\"" +
           seconds(each.length_ms) + '"';
    if (!each.failure && !each.error) {
      xml += "/>\n";
      continue;
    }
    xml += ">\n";
    if (each.error) put_failure(xml, "error", "findings", *each.error);
    if (each.failure) put_failure(xml, "failure", "failed_rehearsal", *each.failure);
    xml += "    </testcase>\n";
  }
  return xml + "    <system-out/>\n    <system-err/>\n  </testsuite>\n</testsuites>\n";
}

}  // namespace lw::report
