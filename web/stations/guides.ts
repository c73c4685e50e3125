/** Guides that come with the program, by their names; the server refuses what does not fit the state or the tests. */
export const GUIDES: readonly {readonly value: string; readonly name: string}[] = [
  {value: "tri-state-2020", name: "Tri-State 2020"},
  {value: "tri-state-1995", name: "Tri-State 1995"},
  {value: "illinois-2009", name: "Illinois 2009"},
  {value: "iowa-2013", name: "Iowa 2013"},
  {value: "kansas-2003-build-maintain", name: "Kansas 2003, build and maintain"},
  {value: "kansas-2003-sufficiency", name: "Kansas 2003, sufficiency"},
  {value: "minnesota-2006", name: "Minnesota 2006"},
  {value: "nebraska-2023", name: "Nebraska 2023"},
  {value: "south-dakota-2005", name: "South Dakota 2005"},
];
