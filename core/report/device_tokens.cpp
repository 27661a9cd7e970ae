#include "report/device_tokens.hpp"

namespace halflight::report {
namespace {

void path(Markup& page, std::string_view kind, std::string_view d) {
  page.empty("path", {{"class", kind}, {"d", d}});
}

void circle(Markup& page, std::string_view kind, double r) {
  page.empty("circle", {{"class", kind}, {"r", r}});
}

}  // namespace

void draw_token(Markup& page, Token token, double x, double y) {
  const auto g =
      page.open("g", {{"class", "token"}, {"transform", "translate(" + num(x) + " " + num(y) + ")"}});
  switch (token) {
    case Token::eye:
      circle(page, "card", 9.0);
      path(page, "pen", "M-5.6 0Q0 -5.6 5.6 0Q0 5.6 -5.6 0Z");
      circle(page, "dot", 1.9);
      break;
    case Token::sun:
      path(page, "card", "M0 -10.5L10.5 0L0 10.5L-10.5 0Z");
      circle(page, "sun", 2.6);
      path(page, "ray",
           "M0 -5.4V-4M0 5.4V4M-5.4 0H-4M5.4 0H4M-3.6 -3.6L-2.8 -2.8M3.6 3.6L2.8 2.8M-3.6 3.6L-2.8 2.8M3.6 "
           "-3.6L2.8 -2.8");
      break;
    case Token::card:
      page.empty(
          "rect",
          {{"class", "card"}, {"x", -6.0}, {"y", -9.0}, {"width", 12.0}, {"height", 18.0}, {"rx", 2.0}});
      path(page, "pen", "M-3.2 -4.5H3.2M-3.2 0H3.2M-3.2 4.5H3.2");
      break;
    case Token::box:
      page.empty("rect", {{"class", "card"}, {"x", -9.0}, {"y", -7.0}, {"width", 18.0}, {"height", 14.0}});
      path(page, "pen", "M-6 2.5H-3L2.6 -2.6M3 2.5H6");
      break;
    case Token::clock:
      circle(page, "card", 9.0);
      path(page, "pen", "M0 -5V0L3.4 2.2");
      break;
    case Token::plug:
      page.empty(
          "rect",
          {{"class", "card"}, {"x", -9.0}, {"y", -7.0}, {"width", 18.0}, {"height", 14.0}, {"rx", 7.0}});
      path(page, "pen", "M-5.5 0H4.5M1.8 -2.7L4.8 0L1.8 2.7");
      break;
    case Token::node:
      page.empty(
          "rect",
          {{"class", "card"}, {"x", -7.5}, {"y", -7.5}, {"width", 15.0}, {"height", 15.0}, {"rx", 2.0}});
      path(page, "pen", "M-4 3.5V-1H4V3.5M0 -1V-4.5");
      break;
  }
}

void draw_egress_tab(Markup& page, double x, double y) {
  const auto g =
      page.open("g", {{"class", "way"}, {"transform", "translate(" + num(x) + " " + num(y) + ")"}});
  page.empty("rect",
             {{"class", "tab"}, {"x", -7.0}, {"y", -4.5}, {"width", 14.0}, {"height", 9.0}, {"rx", 1.0}});
  page.empty("path", {{"class", "tabpen"}, {"d", "M-4 0H3.4M1 -2.4L3.6 0L1 2.4"}});
}

}  // namespace halflight::report
