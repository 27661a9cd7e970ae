#include "report/style_sheet.hpp"

namespace halflight::report {

std::string_view style_sheet() {
  return R"css(
:root{--paper:#faf7f0;--ink:#23222b;--soft:#6d6a75;--line:#ddd6c8;--dusk:#4a3f7a;--lamp:#c98a1b;--good:#2f6f5b;--bad:#b2452f;
--serif:"Source Serif 4","Source Serif 4 Variable",Georgia,serif;--sans:Inter,"Inter Variable",system-ui,sans-serif}
*{box-sizing:border-box}
html{background:var(--paper)}
body{margin:0 auto;max-width:1480px;background:var(--paper);color:var(--ink);font:13px/1.45 var(--sans);font-variant-numeric:tabular-nums;overflow-wrap:break-word}
header{display:flex;gap:22px;align-items:baseline;padding:13px 26px 11px;border-bottom:1px solid var(--line)}
header b{font:600 17px var(--serif);letter-spacing:.2px}
header span{color:var(--soft)}
header .end{margin-left:auto;text-align:right}
main{padding:18px 26px 40px}
h1{font:600 34px/1.15 var(--serif);margin:10px 0 2px}
h2{font:600 26px/1.2 var(--serif);margin:0 0 2px}
h3{font:600 15px/1.3 var(--serif);margin:0 0 5px}
p{margin:0 0 6px}
a{color:var(--dusk);text-decoration:none;border-bottom:1px solid var(--line)}
.soft{color:var(--soft)}.good{color:var(--good)}.bad{color:var(--bad)}
.under{color:var(--soft);margin-bottom:14px}
.banner{background:var(--bad);color:#fff;margin:0;padding:12px 26px}
.banner strong{font:600 20px/1.2 var(--serif);display:block}
.banner ul{margin:4px 0 0;padding-left:18px}
.banner a{color:#fff;border-color:#fff}
.two{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));gap:26px 44px;margin:18px 0}
.block{margin:0 0 22px;min-width:0}
.say{font:400 20.5px/1.5 var(--serif);max-width:1428px;margin:8px 0 16px}
.say span{border-bottom:1.5px dotted var(--dusk)}.say .u{white-space:nowrap}
.room{margin:0 0 20px;padding:30px 0 0;border-top:1px solid var(--ink)}
.room>.where{color:var(--soft);margin-bottom:0}
.explain{display:grid;grid-template-columns:minmax(0,772px) minmax(0,1fr);gap:0 30px}
.explain .side{min-width:0}
.unstudied{padding-bottom:0}
.empty{color:var(--soft);font-style:italic}
/* tables */
table{border-collapse:collapse;width:100%;margin:0 0 4px}
caption{text-align:left;font:600 15px/1.3 var(--serif);padding:0 0 4px}
caption span{font:400 12px var(--sans);color:var(--soft);margin-left:8px}
th,td{text-align:left;vertical-align:top;padding:4px 14px 4px 0;border-top:1px solid var(--line)}
thead th{color:var(--soft);font-weight:500;font-size:11.5px;border-top:0;vertical-align:bottom;padding-bottom:3px}
tbody th{font-weight:600}
th:last-child,td:last-child{padding-right:0}
.n{text-align:right;white-space:nowrap}
.u{white-space:nowrap}
tr.fails td,tr.fails th{color:var(--bad)}
.verdict{font-weight:600;white-space:nowrap}
/* claims */
.claims{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));gap:0 26px}
.claim{border-top:1px solid var(--line);padding:8px 0 9px;break-inside:avoid;min-width:0}
.figure{display:flex;align-items:baseline;gap:10px}
.figure b{font:600 25px/1.1 var(--serif);white-space:nowrap}
.figure i{font-style:normal;color:var(--soft);white-space:nowrap}
.claim .statement{font-weight:600;margin:1px 0 2px}
.claim p{margin:1px 0;color:var(--soft)}
.claim p.statement{color:var(--ink)}
.claim .refute{color:var(--dusk);font-size:11.5px}
.rail{width:100%;max-width:290px;height:16px;display:block}
.track{stroke:var(--line);stroke-width:2}.interval{stroke:var(--dusk);stroke-width:5;stroke-linecap:round;stroke-opacity:.45}
.point{fill:var(--dusk)}.found{stroke:var(--lamp);stroke-width:2.4}.zero{stroke:var(--soft);stroke-width:1}
/* charts */
.bars{width:100%;max-width:640px;display:block}
.barname{font:500 12.5px var(--sans);fill:var(--ink)}.barvalue{font:500 12.5px var(--sans);fill:var(--soft)}
.bar{fill:#e6c27a}.standby{fill:#8a7fb0}.bar.against{fill:#8a7fb0}.whisker{stroke:var(--ink);stroke-width:1.2;fill:none}
.key{color:var(--soft);font-size:12px;margin:2px 0 12px}.key i{display:inline-block;width:11px;height:11px;margin:0 5px 0 0;vertical-align:-1px}
/* moments */
.why{background:#f2ecdf;border-radius:6px;padding:11px 14px 12px;margin:14px 0 0;break-inside:avoid}
.why ol{margin:0;padding-left:18px}
/* plan */
.plan,.smallplan{width:100%;display:block}
.floor{fill:#fff}
.iso{fill:none;stroke:#fff;stroke-opacity:.5;stroke-width:1}
.iso.target{stroke-opacity:1;stroke-width:2.1}
.lx{font:600 10.5px var(--sans);fill:#fff;paint-order:stroke;stroke:#3b3260;stroke-width:3px;stroke-opacity:.55}
.lx.heavy{font-weight:700;font-size:11.5px}
.tiny{font:500 10.5px var(--sans);fill:#fff;paint-order:stroke;stroke:#3b3260;stroke-width:2.5px;stroke-opacity:.5}
.tag{font:600 11px var(--sans);fill:#fff;paint-order:stroke;stroke:#23222b;stroke-width:3px;stroke-opacity:.6}
.task{fill:none;stroke:#fff;stroke-opacity:.75;stroke-width:1;stroke-dasharray:1.5 3}
.table{fill:none;stroke:#fff;stroke-opacity:.8;stroke-width:1.1}
.shelf{fill:#2b2a33;fill-opacity:.28;stroke:#fff;stroke-opacity:.5}
.partition{stroke:#23222b;fill:none}.partition.movable{stroke-dasharray:7 4}
.skylight{fill:none;stroke:#fff;stroke-width:1.3;stroke-dasharray:1.5 3.5;stroke-linecap:round}
.zone{fill:none;stroke:#fff;stroke-opacity:.85;stroke-width:1.2;stroke-dasharray:7 5}
.cover{fill:none;stroke:#bff0dd;stroke-opacity:.8;stroke-width:1.2}.cover.small{stroke-dasharray:2 4}.cover.bare{stroke-width:.7;stroke-opacity:.6;stroke-dasharray:4 5}
.shadowed{fill:url(#shadow)}.hatch{stroke:#bff0dd;stroke-opacity:.75;stroke-width:.7}.unwatched{fill:none;stroke:#ffd9cf;stroke-width:1.8;stroke-dasharray:5 3}
.egress{fill:none;stroke:#d9efe6;stroke-width:2.2;stroke-dasharray:9 5;stroke-opacity:.95}.egresshead{fill:none;stroke:#d9efe6;stroke-width:2.2}
.lum{fill:#fff8e2;stroke:#3a3340;stroke-opacity:.55;stroke-width:1}
.wall{fill:none;stroke:#23222b;stroke-width:6;stroke-linejoin:miter}.wall.thin{stroke-width:3}
.pane{fill:var(--paper)}.glass{fill:url(#glass);stroke:#23222b;stroke-width:.6}.innerglass{fill:none;stroke:#7c93a8;stroke-width:1.4}
.gap{fill:var(--paper)}.leaf{stroke:#23222b;stroke-width:1.8}.swing{fill:none;stroke:#23222b;stroke-width:.8;stroke-opacity:.7}
.token .card{fill:#fff;stroke:#23222b;stroke-width:1.1}.token .pen{fill:none;stroke:#23222b;stroke-width:1.3;stroke-linejoin:round}
.token .dot{fill:#23222b}.token .sun{fill:var(--lamp)}.token .ray{stroke:var(--lamp);stroke-width:1.2}
.tab{fill:var(--good);stroke:#fff;stroke-width:.8}.tabpen{fill:none;stroke:#fff;stroke-width:1.2}
.letterbox{fill:var(--paper);stroke:var(--ink);stroke-width:1.1}.letter{font:600 12.5px var(--sans);text-anchor:middle;fill:var(--ink)}
.dim,.scalebar{fill:none;stroke:var(--soft);stroke-width:1}.scalebar{stroke:var(--ink);stroke-width:1.6}
.dimtext{font:500 11px var(--sans);fill:var(--soft);text-anchor:middle}.scaletext{font:500 11px var(--sans);fill:var(--ink)}
.points{max-width:680px}.points .table{stroke:var(--line);stroke-opacity:1}.points .task{stroke:var(--soft);stroke-opacity:.8}
.points .dot{fill:var(--soft)}.points .value{font:500 10.5px var(--sans);fill:var(--ink);text-anchor:middle}
.north{fill:none;stroke:var(--ink);stroke-width:1.5}
.scale{display:flex;gap:8px;align-items:center;margin:2px 0 8px}.ramp{width:192px;height:11px}
.legend{display:flex;flex-wrap:wrap;gap:4px 16px;color:var(--soft);font-size:12px;margin:0 0 8px}
.legend span{display:inline-flex;gap:5px;align-items:center}.legend svg{width:22px;height:22px}
.smalls{display:flex;flex-wrap:wrap;gap:12px 20px;margin-top:6px}.explain+.block{margin-top:22px}.smalls figure{margin:0;width:300px}.smalls figcaption{color:var(--soft);font-size:12px}
/* year */
.year{width:100%;display:block}.pixels{image-rendering:pixelated}
.sunline{fill:none;stroke:#fff;stroke-opacity:.75;stroke-width:1.1}.month{stroke:var(--line)}
.axis{font:11px var(--sans);fill:var(--soft)}
.smallyear{width:118px;height:30px;display:block}
.defs{position:absolute;width:0;height:0}
.level{position:relative;display:block;min-width:56px;height:17px}
.level i{position:absolute;left:0;top:0;bottom:0;background:#e6c27a;border-radius:2px}
.level em{position:relative;font-style:normal;padding-left:5px;font-size:11.5px;line-height:17px}
.foot{color:var(--soft);font-size:11.5px;border-top:1px solid var(--line);padding-top:5px;margin-top:10px}
ol.cautions{columns:2;column-gap:44px;padding-left:20px;margin:0}
ol.cautions li{break-inside:avoid;margin:0 0 7px}
@media screen and (max-width:1100px){.explain,.two,.claims{grid-template-columns:minmax(0,1fr)}.foot{color:var(--soft);font-size:11.5px;border-top:1px solid var(--line);padding-top:5px;margin-top:10px}
ol.cautions{columns:1}main{padding:14px}}
@page{size:A4;margin:14mm 13mm 15mm}
@media print{
:root{--paper:#fff}
html,body{background:#fff;font-size:8.6pt;max-width:none}
header,main,.banner{padding-left:0;padding-right:0}
.banner{background:none;color:var(--bad);border:2px solid var(--bad);padding:8px 12px;margin:8px 0}.banner a{color:var(--bad)}
.room,.back{break-before:page;border-top:0;padding-top:0}
.back .two{display:block}
.explain{display:block}.two{gap:10px 24px;margin:8px 0}.unstudied{break-before:auto}
table{font-size:7.8pt}th,td{padding-right:7px}.smallyear{width:84px;height:24px}
.building h2{font-size:15pt}.key,.legend,.under,.where{font-size:7.6pt}
.explain .side{margin-top:8px}
.say{font-size:12.5pt;line-height:1.42}
h2,h3,caption,thead{break-after:avoid}tr,figure,.bars,.plan,.year{break-inside:avoid}
a{color:inherit;border:0}
.plan{max-height:150mm}
.smallyear{-webkit-print-color-adjust:exact;print-color-adjust:exact}
.year,.bars,.rail,.level,.key,.way,.token{-webkit-print-color-adjust:exact;print-color-adjust:exact}
.field,.scale{display:none}
.iso{stroke:#23222b;stroke-opacity:.6;stroke-width:.8}.iso.target{stroke:#23222b;stroke-opacity:1;stroke-width:2}
.lx,.tiny,.tag{fill:#23222b;stroke:#fff;stroke-opacity:1}
.task,.table,.skylight,.zone{stroke:#55535d}.shelf{fill:#e9e7ea;fill-opacity:1;stroke:#8d8b94}
.cover{stroke:#6d6a75;stroke-opacity:.6;stroke-width:.8}.hatch{stroke:#6d6a75}.unwatched{stroke:var(--bad)}.egress,.egresshead{stroke:var(--good)}
.lum{fill:#fff;stroke:#23222b;stroke-opacity:1}
.why{background:none;border-left:2px solid var(--line);border-radius:0;padding:2px 0 2px 10px}
}
)css";
}

}  // namespace halflight::report
