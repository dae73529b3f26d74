/** As much of a syntax tree as the kernels' subset has; `any` of its shapes are told apart by `type`. */
export interface Syntax {
  readonly type: string;
  // biome-ignore lint/suspicious/noExplicitAny: the parser's nodes are loosely typed
  readonly [key: string]: any;
}

/**
 * A function of a kernel file in WGSL: numbers are `f32`, `plane[row][column]` asks a function `planeAt(row, column)` and
 * `this.thread.x` a variable `threadX`, both of which whoever takes the function in must have. Planes vanish from the parameters.
 * @throws Error for what is not in the subset.
 */
export function kernelToWgsl({ id, params, body }: Syntax): string {
  const planes = new Set<string>();
  const text = statement(body, planes);
  const numbers = (params as Syntax[]).map(({ name }) => name as string).filter((name) => !planes.has(name));
  return `fn ${id.name}(${numbers.map((name) => `${name}: f32`).join(', ')}) -> f32 ${text}`;
}

function statement(node: Syntax, planes: Set<string>): string {
  const of = (part: Syntax) => expression(part, planes);
  const inner = (part: Syntax) => statement(part, planes);
  switch (node.type) {
    case 'BlockStatement':
      return `{\n${(node['body'] as Syntax[]).map(inner).join('\n')}\n}`;
    case 'VariableDeclaration':
      return (node['declarations'] as Syntax[])
        .map(({ id, init }) => `${node['kind'] === 'const' ? 'let' : 'var'} ${id.name}: f32 = ${of(init)};`)
        .join(' ');
    case 'ExpressionStatement':
      return `${of(node['expression'])};`;
    case 'ReturnStatement':
      return `return ${of(node['argument'])};`;
    case 'BreakStatement':
      return 'break;';
    case 'IfStatement': {
      const other = node['alternate'] ? ` else ${inner(node['alternate'])}` : '';
      return `if (${of(node['test'])}) ${inner(node['consequent'])}${other}`;
    }
    case 'ForStatement':
      return `for (${inner(node['init'])} ${of(node['test'])}; ${of(node['update'])}) ${inner(node['body'])}`;
    default:
      throw new Error(`kernels have no ${node.type}`);
  }
}

function expression(node: Syntax, planes: Set<string>): string {
  const of = (part: Syntax) => expression(part, planes);
  switch (node.type) {
    case 'Literal':
      return /[.e]/.test(String(node['value'])) ? String(node['value']) : `${node['value']}.0`;
    case 'Identifier':
      return node['name'];
    case 'ParenthesizedExpression':
      return of(node['expression']);
    case 'UnaryExpression':
      return `(${node['operator']}${of(node['argument'])})`;
    case 'UpdateExpression':
      return `${of(node['argument'])} ${node['operator'] === '++' ? '+=' : '-='} 1.0`;
    case 'AssignmentExpression':
      return `${of(node['left'])} ${node['operator']} ${of(node['right'])}`;
    case 'ConditionalExpression':
      return `select(${of(node['alternate'])}, ${of(node['consequent'])}, ${of(node['test'])})`;
    case 'BinaryExpression':
    case 'LogicalExpression': {
      const [left, right] = [of(node['left']), of(node['right'])];
      if (node['operator'] === '**') return `pow(${left}, ${right})`;
      return `(${left} ${(node['operator'] as string).replace('===', '==')} ${right})`;
    }
    case 'CallExpression':
      return `${of(node['callee'])}(${(node['arguments'] as Syntax[]).map(of).join(', ')})`;
    case 'MemberExpression':
      return member(node, planes);
    default:
      throw new Error(`kernels have no ${node.type}`);
  }
}

function member({ object, property, computed }: Syntax, planes: Set<string>): string {
  if (!computed && object.name === 'Math') return property.name;
  if (!computed && object.property?.name === 'thread') return `thread${(property.name as string).toUpperCase()}`;
  if (!computed || !object.computed) throw new Error('of planes kernels read plane[row][column]');
  planes.add(object.object.name);
  return `${object.object.name}At(${expression(object.property, planes)}, ${expression(property, planes)})`;
}
