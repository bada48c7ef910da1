# Builds the page: template, style, script and libraries become one C++ source with two texts, the part before the data
# and the part after it.
#   cmake -DPAGE=folder -DLEAFLET=folder -DD3=folder -DLICENCES="file;file" -DOUT=file.cpp -P embed.cmake

file(READ ${PAGE}/page.html page)
file(READ ${LEAFLET}/leaflet.css leaflet_css)
# Pictures of controls that the page does not use: without them nothing can ask for a file.
string(REGEX REPLACE "url\\([^)]*\\)" "none" leaflet_css "${leaflet_css}")
file(READ ${LEAFLET}/leaflet.min.js leaflet_js)
file(READ ${D3}/d3.min.js d3_js)
foreach(library leaflet_js d3_js)
  string(REGEX REPLACE "//# sourceMappingURL=[^\n]*" "" ${library} "${${library}}")
  if(${library} MATCHES "</script|<!--")
    message(FATAL_ERROR "${library} holds text that would end its script element")
  endif()
endforeach()
set(licences "")
foreach(file IN LISTS LICENCES)
  file(READ ${file} text)
  string(REPLACE "&" "&amp;" text "${text}")
  string(REPLACE "<" "&lt;" text "${text}")
  string(APPEND licences "${text}\n")
endforeach()
file(READ ${PAGE}/page.css style)
set(script "")
foreach(part basics overview map contact_pictures figures stop_card proposals traverses tables page)
  file(READ ${PAGE}/${part}.js text)
  string(APPEND script "${text}\n")
endforeach()

string(REPLACE "/*{leaflet.css}*/" "${leaflet_css}" page "${page}")
string(REPLACE "/*{page.css}*/" "${style}" page "${page}")
string(REPLACE "/*{leaflet.js}*/" "${leaflet_js}" page "${page}")
string(REPLACE "/*{d3.js}*/" "${d3_js}" page "${page}")
string(REPLACE "/*{licences}*/" "${licences}" page "${page}")
string(REPLACE "/*{page.js}*/" "${script}" page "${page}")
string(FIND "${page}" "/*{data}*/" at)
if(at LESS 0)
  message(FATAL_ERROR "page.html has no place for the data")
endif()
string(SUBSTRING "${page}" 0 ${at} before)
math(EXPR at "${at} + 10")
string(SUBSTRING "${page}" ${at} -1 after)

file(WRITE ${OUT} "// Made by src/publish/page/embed.cmake.
#include \"publish/report_page.hpp\"

namespace subcrop::publish {

std::string_view page_before_data() { return R\"~page~(${before})~page~\"; }
std::string_view page_after_data() { return R\"~page~(${after})~page~\"; }

}  // namespace subcrop::publish
")
